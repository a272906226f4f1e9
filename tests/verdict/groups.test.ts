import { describe, expect, it, test } from "vitest";
import { BoardFile } from "../../shared/files/board-file.ts";
import { groupVerdict } from "../../src/verdict/sweep/group-verdict.ts";
import { partAmps } from "../../src/verdict/sweep/part-amps.ts";

const LANES = { group: "lanes", quantity: "diode" as const };
const readings = (values: readonly (number | "open" | null)[]) =>
  values.map((value, index) => ({ point: `p${index}`, value, standardError: 0.0002 }));
const different = (result: ReturnType<typeof groupVerdict>): string[] =>
  result.points.filter((each) => each.differs).map((each) => each.point);

describe("groupVerdict() without a good board", () => {
  it("points within 2 to 5 % of each other, as on a good board (common practice, no source), are alike", () => {
    const result = groupVerdict(LANES, readings([0.451, 0.462, 0.446, 0.455, 0.439, 0.448, 0.453, 0.458]), new Map());
    expect(result.word).toBe("alike");
  });
  it("readings that agree to the last digit are no measure: half a percent of difference is no fault", () => {
    const result = groupVerdict(LANES, readings([0.45, 0.45, 0.45, 0.45, 0.45, 0.452]), new Map());
    expect(result.word).toBe("alike");
  });
  it("two that differ are both found: neither hides the other", () => {
    const result = groupVerdict(LANES, readings([0.451, 0.448, 0.9, 0.452, 0.446, 0.92, 0.449, 0.45]), new Map());
    expect([result.word, different(result)]).toEqual(["several-differ", ["p2", "p5"]]);
  });
  it("more open than not is a matter of where the probes are, not of the points", () => {
    const result = groupVerdict(LANES, readings(["open", "open", "open", 0.45, "open"]), new Map());
    expect([result.word, different(result)]).toEqual(["cannot-tell", []]);
  });
  it("three points are too few, and what was not read is said", () => {
    expect(groupVerdict(LANES, readings([0.45, 0.45, 0.6]), new Map()).word).toBe("too-few");
    expect(groupVerdict(LANES, readings([0.45, 0.45, 0.451, 0.449, null]), new Map()).because.join(" ")).toContain(
      "1 point was not read",
    );
  });
});

describe("groupVerdict() with a good board's values", () => {
  const good = new Map([0.45, 0.62, 0.45, 0.62, 0.45, 0.62].map((value, index) => [`p${index}`, { value, boards: 2 }]));
  it("points that differ on a good board as well are no outliers", () => {
    const result = groupVerdict(LANES, readings([0.452, 0.623, 0.449, 0.618, 0.451, 0.62]), good);
    expect([result.word, result.goodBoards]).toEqual(["alike", 2]);
  });
  it("a point that only hides among others of another kind is found", () => {
    // 0.45 V where a good board reads 0.62 V: next to the others it looks like one of them.
    const values = readings([0.452, 0.45, 0.449, 0.618, 0.451, 0.62]);
    expect(different(groupVerdict(LANES, values, good))).toEqual(["p1"]);
    expect(different(groupVerdict(LANES, values, new Map()))).not.toContain("p1");
  });
  it("two points can be judged", () => {
    expect(different(groupVerdict(LANES, readings([0.45, 0.75]), good))).toEqual(["p1"]);
  });
});

describe("partAmps()", () => {
  it("copper has 0.393 % more resistance for each kelvin (IEC 60028: 0.00393 at 20 °C)", () => {
    const part = { rail: "core", ohms: 0.0008, copper: true, tolerance: 0 };
    // 16 mV over 0.8 mΩ are 20 A; at 70 °C the copper has 1 + 50 · 0.00393 = 1.1965 times as many ohms: 16.72 A.
    expect(partAmps(part, { volts: 0.016, expandedVolts: 0 }, 20).amps).toBeCloseTo(20, 9);
    expect(partAmps(part, { volts: 0.016, expandedVolts: 0 }, 70).amps).toBeCloseTo(16.7154, 3);
    // Stated at 70 °C and read at 70 °C, nothing is to be corrected.
    expect(partAmps({ ...part, celsius: 70 }, { volts: 0.016, expandedVolts: 0 }, 70).amps).toBeCloseTo(20, 9);
  });
  it("a temperature nobody stated is in the uncertainty; a shunt has none of it", () => {
    const copper = { rail: "core", ohms: 0.001, copper: true, tolerance: 0 };
    const { amps, expandedAmps } = partAmps(copper, { volts: 0.01, expandedVolts: 0 }, null);
    const at = (celsius: number) => partAmps(copper, { volts: 0.01, expandedVolts: 0 }, celsius).amps;
    expect(amps + expandedAmps).toBeGreaterThan(at(20));
    expect(amps - expandedAmps).toBeLessThan(at(80));
    expect(partAmps({ rail: "12v", ohms: 0.005, tolerance: 0 }, { volts: 0.01, expandedVolts: 0 }, null)).toEqual({
      amps: 2,
      expandedAmps: 0,
    });
  });
});

test.each([
  [{ groups: { lanes: ["a", "a"] } }, "groups.lanes.1", /again/],
  [{ groups: { lanes: ["a", "core"] } }, "groups.lanes.1", /a feed or a rail/],
  [{ groups: { lanes: ["a"] } }, "groups.lanes", /2/],
  [{ across: { l1: { rail: "nowhere", ohms: 0.001 } } }, "across.l1.rail", /neither a feed nor a rail/],
  [{ across: { core: { rail: "core", ohms: 0.001 } } }, "across.core", /new name/],
  [{ across: { l1: { rail: "core", ohms: 0 } } }, "across.l1.ohms", /0/],
])("a board file with %j is refused at %s", (part, path, says) => {
  const rails = { core: { volts: 0.9 } };
  const parsed = BoardFile.safeParse({ version: 1, name: "x", feeds: { in: { nominalVolts: 12 } }, rails, ...part });
  const issue = parsed.error?.issues[0];
  expect(issue?.path.join(".")).toBe(path);
  expect(issue?.message).toMatch(says);
});
