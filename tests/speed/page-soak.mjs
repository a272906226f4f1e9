/**
 * The page with three feeds streaming at full rate for a long time: what is left of its memory after each forced collection, and how
 * fast that grows, with its uncertainty. `--minutes N` measures so long (6 by default, 60 for the whole hour) after `--warm N` minutes
 * (5 by default) in which the traces fill. A cooler holds the board for half an hour at most: the board is energised again every
 * `--hold N` minutes (25 by default), which a page must bear too, and no sample is taken meanwhile. A whole hour goes into
 * docs/speed.md. `--strict` ends with 1 unless the growth is shown to be within its aim.
 */

import { appendFileSync } from "node:fs";
import { loadavg } from "node:os";
import { HOUR, putHour } from "./hour-rows.mjs";
import { option } from "./measure.mjs";
import { energise, openPage } from "./page-bench.mjs";

const MINUTES = Number(option("minutes") ?? 6);
const WARM = Number(option("warm") ?? 5);
const HOLD = Number(option("hold") ?? 25);
const EVERY_MS = 5000;
/** Of the whole hour. */
const MOST_MB = 2;

/**
 * The slope of a line through the points by least squares, and its expanded uncertainty (k = 2). Points of different groups lie on
 * parallel lines. Samples that follow each other resemble each other: they count for as many as their correlation leaves (Bartlett
 * 1946, first order; from memory).
 */
function slopeOf(samples) {
  const n = samples.length;
  const points = [...new Set(samples.map(({ group }) => group))].flatMap((name) => {
    const group = samples.filter((each) => each.group === name);
    const mean = (pick) => group.reduce((sum, each) => sum + pick(each), 0) / group.length;
    const [x0, y0] = [mean((each) => each.x), mean((each) => each.y)];
    return group.map(({ x, y }) => ({ x: x - x0, y: y - y0 }));
  });
  const square = points.reduce((sum, { x }) => sum + x ** 2, 0);
  const slope = points.reduce((sum, { x, y }) => sum + x * y, 0) / square;
  const rest = points.map(({ x, y }) => y - slope * x);
  const squares = rest.reduce((sum, each) => sum + each ** 2, 0);
  const lagged = rest.slice(1).reduce((sum, each, at) => sum + each * rest[at], 0);
  const correlation = Math.min(0.95, Math.max(0, squares === 0 ? 0 : lagged / squares));
  const counted = Math.max(3, (n * (1 - correlation)) / (1 + correlation));
  return { slope, expanded: 2 * Math.sqrt(((squares / (n - 2) / square) * n) / counted) };
}

const bench = await openPage();
const { page, cdp, metrics } = bench;
const samples = [];
const sinceMs = (began) => performance.now() - began;

async function sample(began) {
  await cdp.send("HeapProfiler.collectGarbage");
  const { JSHeapUsedSize, Nodes, JSEventListeners } = await metrics();
  samples.push({
    hold: holds,
    hours: sinceMs(began) / 3.6e6,
    heap: JSHeapUsedSize / 1e6,
    nodes: Nodes,
    JSEventListeners,
  });
  await page.waitForTimeout(EVERY_MS);
}

/** Waits until the hold has ended by itself and every feed is off. */
async function untilOff() {
  await page.getByRole("button", { name: "Check the permit" }).waitFor({ timeout: 120_000 });
}

let holds = 0;
try {
  await page.goto(bench.url, { waitUntil: "commit" });
  await page.locator('feed-strip [data-live="yes"]').first().waitFor();
  await cdp.send("HeapProfiler.enable");
  let began;
  for (let leftMs = 60_000 * MINUTES; leftMs > 0; ) {
    if (holds > 0) await untilOff();
    const warmMs = holds === 0 ? 60_000 * WARM : 0;
    // A minute more than is measured, in which the board comes on and everything is still live.
    await energise(page, { minutes: Math.ceil(Math.min(HOLD, (warmMs + leftMs) / 60_000)) + 1 });
    const heldMs = performance.now();
    holds += 1;
    await page.waitForTimeout(warmMs);
    began ??= performance.now();
    while (sinceMs(heldMs) < 60_000 * HOLD && sinceMs(began) < 60_000 * MINUTES) await sample(began);
    const live = await page.locator('feed-strip [data-live="yes"]').count();
    if (live !== 3) throw new Error(`only ${live} of three feeds are live at the end of hold ${holds}`);
    leftMs = 60_000 * MINUTES - sinceMs(began);
  }
} finally {
  await bench.close();
}
/** Nodes and listeners are counted by hold: the line that each hold adds to the list of runs is not what grows while the feeds stream. */
const said = (pick, unit, most, groupOf) => {
  const { slope, expanded } = slopeOf(samples.map((each) => ({ x: each.hours, y: pick(each), group: groupOf(each) })));
  const met = slope + expanded <= most ? "yes" : slope - expanded > most ? "no" : "cannot be told from so short a time";
  const at = pick(samples.at(-1));
  return {
    measured: `${slope.toFixed(2)} ± ${expanded.toFixed(2)} ${unit} an hour (k = 2, ${samples.length} samples in ${MINUTES} min, ${holds} holds; ${at.toFixed(1)} ${unit} at the end)`,
    "baseline of the same run": `load ${loadavg()[0].toFixed(1)}; measured by itself on ${new Date().toISOString().slice(0, 10)}`,
    ratio: "",
    aim: `≤ ${most} ${unit} an hour`,
    met,
  };
};
const rows = [
  {
    what: "heap with three feeds streaming",
    ...said(
      ({ heap }) => heap,
      "MB",
      MOST_MB,
      () => 1,
    ),
  },
  {
    what: "nodes with three feeds streaming",
    ...said(
      ({ nodes }) => nodes,
      "nodes",
      200,
      ({ hold }) => hold,
    ),
  },
  {
    what: "listeners",
    ...said(
      (each) => each.JSEventListeners,
      "listeners",
      50,
      ({ hold }) => hold,
    ),
  },
].map((row) => ({ ...row, what: `${HOUR}${row.what}` }));
if (MINUTES >= 60) putHour(rows);
console.table(rows);
const to = option("rows");
for (const each of to === undefined ? [] : rows) appendFileSync(to, `${JSON.stringify(each)}\n`);
if (process.argv.includes("--strict") && rows.some(({ met }) => met !== "yes")) process.exitCode = 1;
