import { appendFile, copyFile, mkdtemp, readFile, rm, stat, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { ampsOf, type FeedReading, voltsOf } from "../../shared/reading.ts";
import { captureFile, levelsFile } from "../../src/capture/capture-files.ts";
import { capturePoints, type WantedPoints } from "../../src/capture/capture-points.ts";
import type { Summary } from "../../src/capture/capture-summary.ts";
import { chunkBytes } from "../../src/capture/chunk-format.ts";
import { type CaptureWriter, openCaptureWriter } from "../../src/capture/chunk-store.ts";
import { seeded } from "../analysis/series.ts";

let folder = "";
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), "points-"));
});
afterAll(() => rm(folder, { recursive: true }));

/** Two feeds, the second read one time in eight, with peaks, holes in time and readings that are no numbers. */
function invented(n: number): FeedReading[] {
  const random = seeded(7);
  let atMs = 0;
  return Array.from({ length: n }, (_, i) => {
    atMs += i % 5000 === 4999 ? 60_000 : Math.round((15 + 10 * random()) * 100) / 100;
    const value = Math.round(1000 * (random() + (i % 3001 === 0 ? 20 : 0))) / 1000;
    return {
      feed: i % 8 === 7 ? "slot12" : "aux",
      queriedAtMs: atMs - 8,
      atMs,
      volts: i % 977 === 0 ? { kind: "overload" } : { kind: "value", volts: 12 - value / 10 },
      amps: i % 1009 === 0 ? { kind: "no-reading" } : { kind: "value", amps: value },
      mode: "cv",
      together: true,
    };
  });
}

async function captured(id: string, readings: readonly FeedReading[], close = true) {
  const writer = await openCaptureWriter(folder, id);
  for (const [index, each] of readings.entries()) {
    writer.append(each, each.atMs + 0.12);
    if (index % 37 === 36) await writer.flushed();
  }
  await writer.flushed();
  if (close) await writer.close();
  return writer;
}

/** Every reading of the window is in exactly one point, and each point is what its readings give. */
async function expectRight(id: string, all: readonly FeedReading[], wanted: WantedPoints) {
  const { feeds } = await capturePoints(folder, id, wanted);
  const [fromMs, toMs] = [wanted.fromMs ?? 0, wanted.toMs ?? Number.POSITIVE_INFINITY];
  const window = all.filter(({ atMs }) => atMs >= fromMs && atMs <= toMs);
  expect([...feeds.keys()].sort()).toEqual([...new Set(window.map(({ feed }) => feed))].sort());
  for (const [feed, points] of feeds) {
    const own = window.filter((each) => each.feed === feed);
    expect(points.length).toBeLessThanOrEqual(wanted.most);
    let from = 0;
    for (const point of points) {
      const of = own.slice(from, from + point.n);
      from += point.n;
      expect([point.fromMs, point.toMs]).toEqual([of[0]?.atMs, of.at(-1)?.atMs]);
      expectValues(
        point.volts,
        of.flatMap((each) => voltsOf(each) ?? []),
      );
      expectValues(
        point.amps,
        of.flatMap((each) => ampsOf(each) ?? []),
      );
    }
    expect(from).toBe(own.length);
  }
}

function expectValues({ n, least, most, sum }: Summary["volts"], values: number[]) {
  expect(n).toBe(values.length);
  if (n === 0) return;
  expect(least).toBe(Math.min(...values));
  expect(most).toBe(Math.max(...values));
  expect(sum / n).toBeCloseTo(values.reduce((total, each) => total + each, 0) / values.length, 9);
}

const READINGS = invented(50_000);
const END = READINGS.at(-1)?.atMs ?? 0;
const WINDOWS: [string, WantedPoints][] = [
  ["all of it in one point", { most: 1 }],
  ["all of it in ten, blocks as wholes", { most: 10 }],
  ["all of it in two hundred, by buckets", { most: 200 }],
  ["all of it in four thousand, from the readings", { most: 4000 }],
  ["a third", { fromMs: END / 3, toMs: (2 * END) / 3, most: 300 }],
  ["a second", { fromMs: END / 2, toMs: END / 2 + 1000, most: 1000 }],
  ["one moment", { fromMs: READINGS[777]?.atMs ?? 0, toMs: READINGS[777]?.atMs ?? 0, most: 10 }],
  ["before it began and after it ended", { fromMs: 0, toMs: 2 * END, most: 100 }],
  ["nothing", { fromMs: 2 * END, toMs: 3 * END, most: 100 }],
];

describe("the points of a capture", () => {
  let running: CaptureWriter;
  afterAll(() => running.close());
  beforeAll(async () => {
    await captured("long", READINGS);
    running = await captured("running", READINGS, false);
    await captured("short", READINGS.slice(0, 100));
  });

  it.each(WINDOWS)("are exactly what the readings give: %s", async (_, wanted) => {
    await expectRight("long", READINGS, wanted);
    await expectRight("running", READINGS, wanted);
    await expectRight("short", READINGS.slice(0, 100), wanted);
  });

  it("say where the capture begins and ends, and need no levels where it is short", async () => {
    const { beginsMs, endsMs } = await capturePoints(folder, "long", { fromMs: 100, toMs: 200, most: 10 });
    expect([beginsMs, endsMs]).toEqual([READINGS[0]?.atMs, END]);
    await expect(stat(levelsFile(folder, "short"))).rejects.toMatchObject({ code: "ENOENT" });
  });

  it("are right where the levels are gone, cut off anywhere, damaged, or those of another capture", async () => {
    const whole = await readFile(levelsFile(folder, "long"));
    const wanted = { most: 200 };
    for (const bytes of [
      Buffer.alloc(0),
      whole.subarray(0, 10),
      whole.subarray(0, whole.length / 2),
      whole.subarray(0, whole.length - 1),
      Buffer.concat([whole.subarray(0, 5000), Buffer.from("x"), whole.subarray(5001)]),
      await readFile(levelsFile(folder, "running")),
    ]) {
      await writeFile(levelsFile(folder, "long"), bytes);
      await expectRight("long", READINGS, wanted);
      expect((await readFile(levelsFile(folder, "long"))).length).toBe(bytes.length);
      await expectRight("long", READINGS, { ...wanted, keep: true });
      // Written down again, also where its blocks are other ones.
      expect((await readFile(levelsFile(folder, "long"))).length).toBeGreaterThan(whole.length / 2);
      await expectRight("long", READINGS, wanted);
    }
  });

  it("are right for a capture of before readings were packed, and for one that was shortened", async () => {
    const all = READINGS.map((reading) => ({ reading, eventAtMs: reading.atMs }));
    const parts = Array.from({ length: 500 }, (_, seq) =>
      chunkBytes("old", seq, all.slice(seq * 100, seq * 100 + 100), false),
    );
    await writeFile(captureFile(folder, "old"), Buffer.concat([...parts, chunkBytes("old", 500, [], true)]));
    for (const most of [7, 300, 4000]) await expectRight("old", READINGS, { most, keep: true });
    await expectRight("old", READINGS, { fromMs: END / 4, toMs: END / 3, most: 500 });
    await copyFile(levelsFile(folder, "old"), levelsFile(folder, "shortened"));
    await writeFile(
      captureFile(folder, "old"),
      Buffer.concat([...parts.slice(0, 90), chunkBytes("old", 90, [], true)]),
    );
    await expectRight("old", READINGS.slice(0, 9000), { most: 300, keep: true });
    await appendFile(levelsFile(folder, "old"), "junk");
    await expectRight("old", READINGS.slice(0, 9000), { most: 300 });
  });
});
