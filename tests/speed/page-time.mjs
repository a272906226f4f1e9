/**
 * The work that the page asks of a processor four times slower than this one: until the first live figures, at rest, and with three
 * feeds streaming in a run. Shares and tasks are the main thread's own processor time; times by the clock are divided by how busy the
 * machine is, which a fixed piece of work in the same page tells. `--strict` ends with 1 where an aim is missed; `--seconds N`
 * measures so long (20 by default).
 */
import { appendFileSync } from "node:fs";
import { loadavg } from "node:os";
import { option } from "./measure.mjs";
import { busyFactor, energise, longestTasks, openPage, SLOWER } from "./page-bench.mjs";

const SECONDS = Number(option("seconds") ?? 20);
const LONG_MS = 50;

/** Layout shifts of the page, from before its own script on. */
const WATCH = `
  window.__shift = 0;
  new PerformanceObserver((list) => { for (const each of list.getEntries()) if (!each.hadRecentInput) window.__shift += each.value; }).observe({ type: "layout-shift", buffered: true });
`;

const rows = [];
let busy = 1;
const round = (value) => Number(value.toPrecision(3));
function row(what, value, unit, most, note = "") {
  rows.push({
    what: `the page: ${what}`,
    measured: `${round(value)} ${unit}${note}`,
    "baseline of the same run": `a fixed piece of work took ${round(busy)} × its own time; load ${loadavg()[0].toFixed(1)}`,
    ratio: "",
    aim: `≤ ${most} ${unit}`,
    met: value <= most ? "yes" : "no",
  });
}

const bench = await openPage();
const { page, metrics, throttle } = bench;
try {
  await page.addInitScript(WATCH);
  const firstFigures = async (what, most, open) => {
    const began = performance.now();
    await open();
    await page.locator('feed-strip [data-live="yes"]').first().waitFor({ timeout: 30_000 });
    const tookMs = performance.now() - began;
    busy = await busyFactor(bench);
    row(what, tookMs / busy, "ms", most, ` (${Math.round(tookMs)} ms by the clock)`);
  };
  await firstFigures("first live figures", 1000, () => page.goto(bench.url, { waitUntil: "commit" }));
  await throttle(SLOWER);
  await firstFigures(`first live figures, ${SLOWER} times slower`, 3000, () => page.reload({ waitUntil: "commit" }));
  await page.waitForTimeout(3000);

  /** The main thread's share, its tasks over 50 ms and the layout shift while nothing is touched. */
  const measured = async (what, most) => {
    busy = await busyFactor(bench);
    await page.waitForTimeout(1000);
    await page.evaluate("window.__shift = 0;");
    const [before, began] = [(await metrics()).TaskDuration, performance.now()];
    await page.waitForTimeout(1000 * SECONDS);
    const share = (100_000 * ((await metrics()).TaskDuration - before)) / (performance.now() - began);
    row(`main thread ${what}, ${SLOWER} times slower`, share, "%", most);
    const tasks = await longestTasks(bench, 500 * SECONDS);
    const long = tasks.filter((ms) => ms > LONG_MS);
    row(`tasks over ${LONG_MS} ms ${what}`, long.length, "tasks", 0, ` of ${tasks.length}`);
    row(`the longest task ${what}`, Math.max(0, ...tasks), "ms", LONG_MS);
    row(`layout shift ${what}`, await page.evaluate("window.__shift"), "in all", 0);
  };
  await measured("at rest", 15);
  await throttle(1);
  await energise(page, { seconds: 2 * SECONDS + 60 });
  await throttle(SLOWER);
  await page.waitForTimeout(1500);
  await measured("with three feeds streaming", 30);
} finally {
  await bench.close();
}
console.table(rows);
const to = option("rows");
for (const each of to === undefined ? [] : rows) appendFileSync(to, `${JSON.stringify(each)}\n`);
if (process.argv.includes("--strict") && rows.some(({ met }) => met === "no")) process.exitCode = 1;
