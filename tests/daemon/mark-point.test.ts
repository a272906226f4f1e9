import { mkdtemp, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, beforeEach, expect, test } from "vitest";
import { markPoint } from "../../src/daemon/page/mark-point.ts";

let folder: string;
let file: string;
const board = {
  version: 1,
  name: "Kestrel K2",
  feeds: { aux: { nominalVolts: 12 } },
  rails: { core: { volts: 0.85, needs: ["feed:aux"] } },
  photos: [{ file: "front.png", points: { aux: { x: 0.1, y: 0.2 } } }],
};
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), "firstamp-mark-"));
  file = join(folder, "board.json");
  await writeFile(file, JSON.stringify(board));
});
afterEach(() => rm(folder, { recursive: true }));
const kept = async (): Promise<unknown> => JSON.parse(await readFile(file, "utf8"));

test("a mark is written into the board file, and nothing else of it changes", async () => {
  await markPoint(file, { photo: 0, point: "core", at: { x: 0.333_333, y: 1 } });
  const points = { aux: { x: 0.1, y: 0.2 }, core: { x: 0.3333, y: 1 } };
  expect(await kept()).toEqual({ ...board, photos: [{ file: "front.png", points }] });
  await markPoint(file, { photo: 0, point: "aux", at: null });
  expect(await kept()).toEqual({ ...board, photos: [{ file: "front.png", points: { core: { x: 0.3333, y: 1 } } }] });
});

test("a point or a photograph that there is not is refused, and the file stays as it was", async () => {
  await expect(markPoint(file, { photo: 0, point: "nope", at: { x: 0, y: 0 } })).rejects.toThrow(
    /neither a feed nor a rail/,
  );
  await expect(markPoint(file, { photo: 1, point: "core", at: { x: 0, y: 0 } })).rejects.toThrow(/no photograph 2/);
  expect(await kept()).toEqual(board);
});
