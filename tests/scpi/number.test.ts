import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { formatNumber, parseNumber, stepOf } from "../../src/scpi/number.ts";

const value = (number: number) => ({ kind: "value", value: number });

describe("numbers as IEEE 488.2, 8.7.2–8.7.4 writes them", () => {
  it.each([
    // NR1, 8.7.2
    ["146", 146],
    ["+146", 146],
    ["-12345", -12345],
    // NR2, 8.7.3
    ["12.3", 12.3],
    ["+1.2345", 1.2345],
    ["-0.123", -0.123],
    // NR3, 8.7.4
    ["1.23E+6", 1.23e6],
    ["123.4E-54", 123.4e-54],
    // Sent by instruments, read in their manuals
    ["4.3E-3", 0.0043],
    ["+.5", 0.5],
    [" 12.00 ", 12],
  ])("%s", (text, number) => expect(parseNumber(text)).toEqual(value(number)));
});

describe("marks that are no numbers: SCPI-1999 vol. 1, 7.2.1.4–7.2.1.5", () => {
  it.each(["9.9E37", "9.90000000E+37", "+9.9E37", "9.9e+037", "99E36", "INF", "+INF", "OL", "9.0E37", "1E999"])(
    "%s is an overload",
    (text) => expect(parseNumber(text)).toEqual({ kind: "overload", sign: 1 }),
  );
  it.each(["-9.9E37", "-9.90000000E+37", "-INF", "-OL"])("%s is an overload the other way", (text) =>
    expect(parseNumber(text)).toEqual({ kind: "overload", sign: -1 }),
  );
  it.each(["9.91E37", "+9.91E37", "9.91000000E+37", "NAN", "nan"])("%s is not a number", (text) =>
    expect(parseNumber(text)).toEqual({ kind: "not-a-number" }),
  );
  it("no text whatever gives a value of 9E37 or more", () => {
    fc.assert(
      fc.property(fc.double({ min: 9e37, noNaN: true }), fc.boolean(), (size, negative) => {
        expect(parseNumber(`${negative ? "-" : ""}${size.toExponential()}`).kind).not.toBe("value");
      }),
    );
  });
});

describe("what is refused", () => {
  it.each(["", "   ", "1.2.3", "ON", "--1", "1e", "12,34", "1.2;3.4", "0x10", "1 2", '"1"', "+", ".", "E5"])(
    "%j",
    (text) => expect(parseNumber(text).kind).toBe("bad"),
  );
  it("a blank says that it is one", () =>
    expect(parseNumber(" ")).toEqual({ kind: "bad", why: "blank; it should be a number" }));
  it("any unit where the driver expects none", () => expect(parseNumber("12.00V").kind).toBe("bad"));
  it("mA where A is expected", () => {
    expect(parseNumber("120mA", { unit: "A" })).toEqual({
      kind: "bad",
      why: "has the unit mA; it should have the unit A or none",
    });
  });
  it("V where A is expected", () => expect(parseNumber("1.2V", { unit: "A" }).kind).toBe("bad"));
  it("fuzzed text never throws and never gives a value that is not finite", () => {
    fc.assert(
      fc.property(fc.string(), (text) => {
        const read = parseNumber(text);
        if (read.kind === "value") expect(Number.isFinite(read.value)).toBe(true);
      }),
      { numRuns: 2000 },
    );
  });
});

describe("what a driver may allow", () => {
  it.each([
    ["12.00V", "V", 12],
    ["1.2 A", "A", 1.2],
    ["1.2a", "A", 1.2],
    ["+1.2E+01V", "V", 12],
    ["5", "V", 5],
  ])("%s with the unit %s", (text, unit, number) => expect(parseNumber(text, { unit })).toEqual(value(number)));
  it("a decimal comma", () => expect(parseNumber("12,34", { decimalComma: true })).toEqual(value(12.34)));
  it("two commas stay refused", () => expect(parseNumber("1,2,3", { decimalComma: true }).kind).toBe("bad"));
});

describe("writing numbers", () => {
  it.each([
    [0, "0"],
    [-0, "0"],
    [0.9, "0.9"],
    [13.2, "13.2"],
    [1e-7, "0"],
    [0.1 + 0.2, "0.3"],
    [120, "120"],
  ])("%d", (number, text) => expect(formatNumber(number)).toBe(text));
  it("what was written reads back within half a millionth", () => {
    fc.assert(
      fc.property(fc.double({ min: -1000, max: 1000, noNaN: true }), (number) => {
        const read = parseNumber(formatNumber(number));
        expect(read.kind === "value" && Math.abs(read.value - number)).toBeLessThanOrEqual(5.1e-7);
      }),
    );
  });
});

describe("the step that digits suggest", () => {
  it.each([
    ["12.00", 0.01],
    ["+0.012", 0.001],
    ["7", 1],
    [".5", 0.1],
  ])("%s", (text, step) => expect(stepOf(text)).toBeCloseTo(step, 12));
  it.each(["", "+1.20000000E+00", "1.234E-1", "1.23456789", "9.9E37V", "ON"])("%j suggests none", (text) =>
    expect(stepOf(text)).toBeUndefined(),
  );
});
