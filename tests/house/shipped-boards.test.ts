import { readFileSync } from "node:fs";
import { describe, expect, test } from "vitest";
import { BoardFile } from "../../shared/files/board-file.ts";

const shipped = (name: string): BoardFile =>
  BoardFile.parse(JSON.parse(readFileSync(new URL(`../../scenarios/boards/${name}.json`, import.meta.url), "utf8")));

describe.each(["kestrel-k2", "general-card"])("the shipped board file %s", (name) => {
  const board = shipped(name);
  const points = Object.entries(board.rails);

  test("has twelve rails and signals or more, each with tolerance, probe point and diode value, each rail with cold ohms", () => {
    expect(points.length).toBeGreaterThanOrEqual(12);
    expect(points.some(([, { signal }]) => signal === true)).toBe(true);
    for (const [point, { tolerance, point: where, diodeVolts, coldOhms, signal }] of points) {
      expect({ point, tolerance, where }, point).toEqual({
        point,
        tolerance: expect.any(Array),
        where: expect.any(String),
      });
      // A milliamp through a core is under a meter's step and the drop of its leads: a dead short would pass.
      if (point === "core") expect(diodeVolts).toBeUndefined();
      else expect(diodeVolts, point).toBeDefined();
      if (signal !== true) expect(coldOhms, point).toBeDefined();
    }
  });

  test("a rail's diode value is not above what its ohms and a milliamp make (diode mode: 1 mA, a data sheet)", () => {
    for (const [point, { diodeVolts, coldOhms }] of points) {
      if (diodeVolts !== undefined && coldOhms !== undefined)
        expect(diodeVolts[0], point).toBeLessThan(coldOhms[1] * 0.001);
    }
  });

  test("limits are those of a first power-up: 12 V inputs 11.04 to 12.60 V (ATX 3.0 design guide, table 3-5)", () => {
    const { aux } = board.feeds;
    expect([12 * (1 + (aux?.tolerance?.[0] ?? 0)), 12 * (1 + (aux?.tolerance?.[1] ?? 0))]).toEqual([
      expect.closeTo(11.04, 9),
      expect.closeTo(12.6, 9),
    ]);
  });
});

describe("a board file", () => {
  const board = { version: 1, name: "b", feeds: { aux: { nominalVolts: 12 } }, rails: { core: { volts: 0.85 } } };
  const problems = (change: object): string[] =>
    (BoardFile.safeParse({ ...board, ...change }).error?.issues ?? []).map(
      (issue) => `${issue.path.join(".")} ${issue.message}`,
    );

  test("takes a photograph with points on it", () => {
    const photos = [{ file: "front.jpg", points: { core: { x: 0, y: 1 }, aux: { x: 0.5, y: 0.25 } } }];
    expect(problems({ photos })).toEqual([]);
  });

  test.each([
    [
      "a point that is not there",
      { photos: [{ file: "a.jpg", points: { kore: { x: 0, y: 0 } } }] },
      "photos.0.points.kore",
    ],
    [
      "a point beside the picture",
      { photos: [{ file: "a.jpg", points: { core: { x: 1.1, y: 0 } } }] },
      "photos.0.points.core.x",
    ],
    ["a file in another folder", { photos: [{ file: "../a.jpg" }] }, "photos.0.file"],
    ["a diode value no meter shows", { rails: { core: { volts: 1, diodeVolts: [0.3, 9] } } }, "rails.core.diodeVolts"],
    ["a diode value below zero", { rails: { core: { volts: 1, diodeVolts: [-0.3, 0.1] } } }, "rails.core.diodeVolts"],
  ])("is refused with the path: %s", (_, change, path) => {
    expect(problems(change)).toEqual([expect.stringContaining(path)]);
  });
});
