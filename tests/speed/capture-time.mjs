/**
 * A day's capture at 50 readings a second: bytes a reading on the disk, and how long a zoom takes wherever and however far, as the page
 * asks for it. Times jitter as on a simulated bench, volts and amps have a supply's steps and noise.
 */
import { mkdtemp, readdir, readFile, rm, stat } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { built, done, p95, p95of, row, SHARE } from "./measure.mjs";

const READINGS = Math.trunc(24 * 3600 * 50 * SHARE);
const POINTS = 1000;
const ZOOMS = [1, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01, 0.005, 0.001, 0.0001];

const [{ openCaptureWriter }, { capturePoints }] = await Promise.all([
  built("capture/chunk-store.js"),
  built("capture/capture-points.js"),
]);

/** Numbers from 0 to 1, the same in each run (a linear congruential generator of Numerical Recipes, from memory). */
let state = 1;
const random = () => {
  state = (state * 1664525 + 1013904223) >>> 0;
  return state / 4294967296;
};
/** About normal, of standard deviation 1: the sum of twelve. */
const noise = () => Array.from({ length: 12 }, random).reduce((sum, each) => sum + each) - 6;
const hundredths = (ms) => Math.floor(ms * 100 + 1e-6) / 100;
const thousandths = (value) => Math.round(value * 1000) / 1000;

const folder = await mkdtemp(join(tmpdir(), "firstamp-speed-"));
const writer = await openCaptureWriter(folder, "day");
let atMs = 0;
let eventAtMs = 0;
for (let index = 0; index < READINGS; index++) {
  const queriedAtMs = eventAtMs + 0.12 + Math.abs(0.05 * noise());
  atMs = queriedAtMs + 19.5 + 0.4 * noise() + (random() < 0.02 ? 5 * random() : 0);
  eventAtMs = atMs + 0.12 + Math.abs(0.03 * noise());
  writer.append(
    {
      feed: "aux",
      queriedAtMs: hundredths(queriedAtMs),
      atMs: hundredths(atMs),
      volts: { kind: "value", volts: thousandths(12 - 0.002 * noise()) },
      amps: { kind: "value", amps: thousandths(0.86 + 0.3 * Math.sin(index / 50_000) + 0.0015 * noise()) },
      mode: "cv",
      together: true,
    },
    hundredths(eventAtMs),
  );
  if (index % 20_000 === 0) await writer.flushed();
}
await writer.close();

let bytes = 0;
for (const name of await readdir(folder)) bytes += (await stat(join(folder, name))).size;
row({
  what: `a reading of a capture of ${READINGS}, with its levels`,
  measured: bytes / READINGS,
  unit: "bytes",
  baseline: 16,
  baselineIs: "volts and amps as bare doubles, without a time",
  aim: { most: 6 },
});

const read = await p95(() => readFile(join(folder, "day.levels")), 30);
const worst = { ms: 0, of: 0 };
const took = [];
for (const share of ZOOMS) {
  const { ms } = await p95(async () => {
    const fromMs = random() * (1 - share) * atMs;
    const began = performance.now();
    await capturePoints(folder, "day", { fromMs, toMs: fromMs + share * atMs, most: POINTS });
    took.push(performance.now() - began);
  }, 20);
  if (ms > worst.ms) Object.assign(worst, { ms, of: share });
}
row({
  what: `a zoom to ${POINTS} points, all zooms, p95`,
  measured: p95of(took),
  unit: "ms",
  baseline: read.ms,
  baselineIs: "reading the levels file and nothing else",
  aim: { most: 50 },
  note: `the slowest zoom, to ${worst.of} of the day, ${worst.ms.toFixed(1)} ms`,
});
await rm(folder, { recursive: true, force: true });
done();
