import { describe, expect, it } from "vitest";
import { blockHead, wordsOf } from "../../src/scpi/block.ts";
import { firstSeconds, numbersOf, scaledVolts, scaleProblem } from "../../src/scpi/waveform.ts";

const bytes = (text: string): Uint8Array => Uint8Array.from(text, (char) => char.charCodeAt(0));

describe("blockHead() reads a head that is still coming in (IEEE 488.2, 8.7.9 and 8.7.10)", () => {
  it.each([
    ["#15", { kind: "definite", from: 3, bytes: 5 }],
    ["#3005", { kind: "definite", from: 5, bytes: 5 }],
    ["#9000001000", { kind: "definite", from: 11, bytes: 1000 }],
    ["#0\u0001", { kind: "indefinite", from: 2 }],
    ["", { kind: "more" }],
    ["#", { kind: "more" }],
    ["#4123", { kind: "more" }],
  ])("%j", (text, head) => expect(blockHead(bytes(text))).toEqual(head));
  it.each(["x", "#x", "#2x1"])("%j is none", (text) => expect(blockHead(bytes(text)).kind).toBe("bad"));
});

describe("wordsOf() in both byte orders", () => {
  const data = Uint8Array.of(0x80, 0x00, 0x00, 0x80, 0x12, 0x34);
  // Two's complement and place values, by hand: 0x8000 = 32768 or −32768, 0x0080 = 128, 0x1234 = 4660, 0x3412 = 13330.
  it.each([
    ["high-first", false, [32768, 128, 4660]],
    ["low-first", false, [128, 32768, 13330]],
    ["high-first", true, [-32768, 128, 4660]],
    ["low-first", true, [128, -32768, 13330]],
  ] as const)("%s, signed %s", (order, signed, values) =>
    expect([...wordsOf(data, { bits: 16, signed, order })]).toEqual(values),
  );
  it("eight bits", () => {
    expect([...wordsOf(data, { bits: 8, signed: true, order: "high-first" })]).toEqual([-128, 0, 0, -128, 18, 52]);
  });
  it("a view into a larger buffer begins where the view does", () => {
    expect([...wordsOf(data.subarray(4), { bits: 16, signed: false, order: "high-first" })]).toEqual([4660]);
  });
});

describe("a preamble", () => {
  const scale = {
    points: 100,
    xIncrement: 1e-5,
    xOrigin: -0.001,
    xReference: 20,
    yIncrement: 0.01,
    yOrigin: 0.5,
    yReference: 128,
  };
  it("scales: volts = (code − reference)·increment + origin, time = (i − reference)·increment + origin", () => {
    expect([...scaledVolts(Float64Array.of(128, 228, 28), scale)]).toEqual([0.5, 1.5, -0.5]);
    expect(firstSeconds(scale)).toBeCloseTo(-0.0012, 12);
    expect(scaleProblem(scale)).toBeNull();
  });
  it.each([
    [{ points: 3 }, /points/],
    [{ points: 1e9 }, /points/],
    [{ points: 10.5 }, /points/],
    [{ xIncrement: 0 }, /time step/],
    [{ xIncrement: -1 }, /time step/],
    [{ yIncrement: 0 }, /volts step/],
    [{ yOrigin: Number.NaN }, /yOrigin/],
  ])("with %j is none", (change, says) => expect(scaleProblem({ ...scale, ...change })).toMatch(says));
  it("numbers with commas are all numbers, or none are taken", () => {
    expect([...(numbersOf("1, -2,3e2") ?? [])]).toEqual([1, -2, 300]);
    expect(numbersOf("1,,2")).toBeNull();
    expect(numbersOf("1,x")).toBeNull();
  });
});
