import { describe, expect, test } from "vitest";
import { BoardFile } from "../../shared/files/board-file.ts";
import { sweepPoints } from "../../src/sweep/sweep-points.ts";
import { visitOrder } from "../../src/sweep/visit-order.ts";
import { kestrel as board, kestrelSweep as plan } from "./kestrel-sweep.ts";

describe("the order of a sweep", () => {
  test("each rail and signal once, behind all it needs", () => {
    const order = visitOrder(board);
    expect([...order].sort()).toEqual(Object.keys(board.rails).sort());
    for (const [index, rail] of order.entries()) {
      for (const need of board.rails[rail]?.needs ?? []) {
        if (!need.startsWith("feed:")) expect(order.indexOf(need)).toBeLessThan(index);
      }
    }
  });

  test("among those whose turn it may be, the nearest on the board is next", () => {
    const flat = BoardFile.parse({
      version: 1,
      name: "Flat",
      feeds: { in: { nominalVolts: 12 } },
      rails: Object.fromEntries(["a", "b", "c", "d"].map((rail) => [rail, { volts: 3.3, needs: ["feed:in"] }])),
      photos: [
        {
          file: "flat.jpg",
          points: { a: { x: 0, y: 0.1 }, b: { x: 0.9, y: 0.1 }, c: { x: 0.2, y: 0.1 }, d: { x: 0.5, y: 0.1 } },
        },
      ],
    });
    expect(visitOrder(flat)).toEqual(["a", "c", "d", "b"]);
  });

  test("cold: inputs, then what is behind each, then the other rails, pairs last; no signal, since it has no ohms of its own", () => {
    const points = sweepPoints({ ...plan, cold: true });
    const names = points.map((each) => each.rail);
    expect(names.slice(0, 6)).toEqual(["slot3v3", "3v3", "slot12", "12v-slot", "aux", "12v"]);
    expect(points.slice(-4).map((each) => each.kind)).toEqual(["pair", "pair", "pair", "pair"]);
    expect(points.some((each) => each.kind === "signal")).toBe(false);
    expect(new Set(names)).toEqual(
      new Set([
        ...Object.keys(board.feeds),
        ...Object.keys(board.rails).filter((rail) => board.rails[rail]?.signal !== true),
        ...Object.keys(board.coldPairs),
      ]),
    );
  });

  test("diode mode is asked for, comes after the ohms, and is read red on ground", () => {
    const points = sweepPoints({ ...plan, cold: true, diode: true });
    const diodes = points.filter((each) => each.quantity === "diode");
    expect(diodes.length).toBeGreaterThan(3);
    expect(diodes.every((each) => each.polarity === "black-on-point" && each.point.includes("red on ground"))).toBe(
      true,
    );
    expect(points.findIndex((each) => each.quantity === "diode")).toBe(points.length - diodes.length);
  });

  test("a short is each rail's own: 0.2 Ω on a big core is none, on memory it is", () => {
    const at = (rail: string) => plan.limitsOf(rail, "ohms");
    expect(at("core").shortBelow ?? 1).toBeLessThan(0.2);
    expect(at("mem").shortBelow ?? 0).toBeGreaterThan(0.2);
    expect(at("core")).toMatchObject({ low: 0.1, high: 5, isDefault: false });
    expect(at("aux:core")).toMatchObject({ low: 100, high: null });
  });

  test("points of a scanner come first, with their channels", () => {
    const points = sweepPoints({ ...plan, channelOf: (rail) => ({ core: 103, mem: 104 })[rail] ?? null });
    expect(points.slice(0, 3).map((each) => [each.rail, each.setting.channel])).toEqual([
      ["core", 103],
      ["mem", 104],
      ["12v", null],
    ]);
  });
});
