/**
 * What the page asks of a processor that is four times slower than this one: until the first live figures, at rest, and with three
 * feeds streaming in a run. The program as in production on its simulated bench, the page in a real Chromium. `--strict` ends with 1
 * where an aim is missed; `--seconds N` measures so long (20 by default), `--minutes N` also how the heap grows.
 */
import { spawn } from "node:child_process";
import { appendFileSync } from "node:fs";
import { mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { chromium } from "playwright-core";

const option = (name) => {
  const at = process.argv.indexOf(`--${name}`);
  return at === -1 ? undefined : process.argv[at + 1];
};
const SECONDS = Number(option("seconds") ?? 20);
const MINUTES = Number(option("minutes") ?? 0);
const SLOWER = 4;
const MAIN = fileURLToPath(new URL("../../dist/src/main.js", import.meta.url));

/** Layout shifts of the live strips and tasks over 50 ms, from before the page's own script on. */
const WATCH = `
  window.__tasks = []; window.__shift = 0;
  new PerformanceObserver((list) => { for (const each of list.getEntries()) window.__tasks.push(each.duration); }).observe({ type: "longtask", buffered: true });
  new PerformanceObserver((list) => { for (const each of list.getEntries()) if (!each.hadRecentInput) window.__shift += each.value; }).observe({ type: "layout-shift", buffered: true });
`;

const data = await mkdtemp(join(tmpdir(), "firstamp-page-time-"));
const child = spawn(process.execPath, [MAIN, "try", "--json", "--watch", "1", "--data", data], {
  stdio: ["ignore", "pipe", "inherit"],
});
const url = await new Promise((resolve, reject) => {
  let text = "";
  child.stdout.on("data", (chunk) => {
    text += chunk;
    const found = /"url":\s*"([^"]+)"/.exec(text);
    if (found !== null) resolve(found[1]);
  });
  child.once("exit", () => reject(new Error(`the program ended:\n${text}`)));
});
const browser = await chromium.launch({
  executablePath: process.env.CHROMIUM ?? "/usr/bin/chromium",
  args: ["--no-sandbox", "--disable-gpu", "--disable-background-networking"],
});
const rows = [];
const row = (what, value, unit, aim) =>
  rows.push({
    what,
    value: `${Number(value.toFixed(value < 10 ? 2 : 0))} ${unit}`,
    aim: `≤ ${aim} ${unit}`,
    met: value <= aim ? "yes" : "no",
  });
try {
  const context = await browser.newContext({ viewport: { width: 1280, height: 800 } });
  const page = await context.newPage();
  const cdp = await context.newCDPSession(page);
  await page.addInitScript(WATCH);
  await cdp.send("Performance.enable");
  const metric = async (name) =>
    (await cdp.send("Performance.getMetrics")).metrics.find((each) => each.name === name)?.value ?? 0;
  const firstFigures = async () => {
    const began = performance.now();
    await page.locator('feed-strip [data-live="yes"]').first().waitFor({ timeout: 30_000 });
    return performance.now() - began;
  };
  await page.goto(url, { waitUntil: "commit" });
  row("first live figures", await firstFigures(), "ms", 1000);
  await cdp.send("Emulation.setCPUThrottlingRate", { rate: SLOWER });
  await page.reload({ waitUntil: "commit" });
  row(`first live figures, ${SLOWER} times slower`, await firstFigures(), "ms", 3000);
  await page.waitForTimeout(3000);

  /** The main thread's share, tasks over 50 ms and layout shift while nothing is touched. */
  const measured = async (what, aim) => {
    await page.evaluate("window.__tasks.length = 0; window.__shift = 0;");
    const [busy, began] = [await metric("TaskDuration"), performance.now()];
    await page.waitForTimeout(1000 * SECONDS);
    const share = (100_000 * ((await metric("TaskDuration")) - busy)) / (performance.now() - began);
    const { tasks, shift } = await page.evaluate("({ tasks: window.__tasks.slice(), shift: window.__shift })");
    row(`main thread ${what}, ${SLOWER} times slower`, share, "%", aim);
    row(`tasks over 50 ms ${what}`, tasks.length, "in all", 0);
    row(`the longest of them ${what}`, Math.max(0, ...tasks), "ms", 50);
    row(`layout shift ${what}`, shift, "in all", 0);
  };
  await measured("at rest", 15);

  await cdp.send("Emulation.setCPUThrottlingRate", { rate: 1 });
  await page.getByRole("tab", { name: /^Power/ }).click();
  await page.getByRole("button", { name: "Take control" }).last().click();
  await page.getByText("In control").first().waitFor();
  await page.getByLabel("Watch for, seconds").fill(String(SECONDS + 20));
  await page.getByLabel("Cooler").selectOption("cooler");
  await page.getByRole("button", { name: "Check the permit" }).click();
  await page.getByText("What will be energised").waitFor();
  for (const box of await page.getByRole("checkbox", { name: /go on without it/ }).all()) await box.check();
  const reason = page.getByLabel(/Reason for going on without/);
  if ((await reason.count()) > 0) await reason.fill("a simulated board, to measure the page");
  await page.getByLabel("I have read these, and they are met").check();
  await page.getByRole("button", { name: /^Energise/ }).click();
  await page.locator('stage-lead li[data-state="running"]').filter({ hasText: "Watch" }).waitFor({ timeout: 60_000 });
  await cdp.send("Emulation.setCPUThrottlingRate", { rate: SLOWER });
  await page.waitForTimeout(1500);
  await measured("with three feeds streaming", 30);

  if (MINUTES > 0) {
    const heap = async () => {
      await cdp.send("HeapProfiler.collectGarbage");
      return (await metric("JSHeapUsedSize")) / 1e6;
    };
    const before = await heap();
    await page.waitForTimeout(60_000 * MINUTES);
    row(`heap grown in ${MINUTES} min`, Math.max(0, (await heap()) - before), "MB", 2);
  }
} finally {
  await browser.close();
  child.kill("SIGTERM");
  await new Promise((resolve) => child.once("close", resolve));
  await rm(data, { recursive: true, force: true });
}
console.table(rows);
const to = option("rows");
for (const { what, value, aim, met } of to === undefined ? [] : rows)
  appendFileSync(to, `${JSON.stringify({ what: `the page: ${what}`, measured: value, aim, met })}\n`);
if (process.argv.includes("--strict") && rows.some(({ met }) => met === "no")) process.exitCode = 1;
