/**
 * The program as in production on its simulated bench, with its page in a real Chromium: what the measurements of the page have in
 * common. Durations are the main thread's own processor time, so that another program on the machine does not count as the page's
 * work; what a throttle adds counts, since it keeps the thread busy.
 */
import { spawn } from "node:child_process";
import { mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { chromium } from "playwright-core";
import { MAIN } from "./measure.mjs";

export const SLOWER = 4;

/** A fixed piece of work for the page's main thread: about 40 ms on a machine of 2020. */
const WORK = `(() => {
  const began = performance.now();
  let sum = 0;
  for (let round = 0; round < 60; round++) {
    const text = JSON.stringify(Array.from({ length: 400 }, (_, at) => ({ at, name: "reading " + at })));
    sum += JSON.parse(text).length;
  }
  return { ms: performance.now() - began, sum };
})()`;
const ROUNDS = 15;

/** Opens the page on `try`; `close` ends browser and program and removes what they wrote. */
export async function openPage() {
  const data = await mkdtemp(join(tmpdir(), "firstamp-page-"));
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
    args: ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--enable-precise-memory-info"],
  });
  const context = await browser.newContext({ viewport: { width: 1280, height: 800 } });
  const page = await context.newPage();
  const cdp = await context.newCDPSession(page);
  await cdp.send("Performance.enable", { timeDomain: "threadTicks" });
  const metrics = async () =>
    Object.fromEntries((await cdp.send("Performance.getMetrics")).metrics.map(({ name, value }) => [name, value]));
  return {
    ...{ url, browser, page, cdp, metrics },
    throttle: (rate) => cdp.send("Emulation.setCPUThrottlingRate", { rate }),
    async close() {
      await browser.close();
      child.kill("SIGTERM");
      if (child.exitCode === null) await new Promise((resolve) => child.once("close", resolve));
      await rm(data, { recursive: true, force: true });
    },
  };
}

/**
 * How much longer a fixed piece of work takes on this machine now than it would have the processor for itself: the time by the clock
 * over the thread's own time, the middle of several rounds in the same page. 1 on a quiet machine.
 */
export async function busyFactor({ page, metrics }) {
  const factors = [];
  for (let round = 0; round < ROUNDS; round++) {
    const before = (await metrics()).TaskDuration;
    const { ms } = await page.evaluate(WORK);
    factors.push(ms / 1000 / ((await metrics()).TaskDuration - before));
  }
  // The thread does a little beside the work: a quiet machine reads a hair below 1.
  return Math.max(1, factors.sort((a, b) => a - b)[ROUNDS >> 1]);
}

/**
 * Energises the board from the page, as a person does, and comes back once it is watched. `minutes` makes it a soak. It may be
 * called again once the outputs are off.
 */
export async function energise(page, { seconds, minutes = 0 }) {
  await page.getByRole("tab", { name: /^Power/ }).click();
  const inControl = page.getByText("In control", { exact: true }).first();
  if (!(await inControl.isVisible())) await page.getByRole("button", { name: "Take control" }).last().click();
  await inControl.waitFor();
  const form = page.locator("start-form");
  if (minutes > 0) {
    await form.getByLabel("What is done").selectOption("soak");
    await form.getByLabel("Held for, minutes").fill(String(minutes));
  } else await form.getByLabel("Watch for, seconds").fill(String(seconds));
  await form.getByLabel("Cooler").selectOption("cooler");
  await page.getByRole("button", { name: "Check the permit" }).click();
  await page.getByText("What will be energised").waitFor();
  for (const box of await page.getByRole("checkbox", { name: /go on without it/ }).all()) await box.check();
  const reason = form.getByLabel(/Reason for going on without/);
  if ((await reason.count()) > 0) await reason.fill("a simulated board, to measure the page");
  await page.getByLabel("I have read these, and they are met").check();
  await page.getByRole("button", { name: /^Energise/ }).click();
  await page.locator('stage-lead li[data-state="running"]').filter({ hasText: "Watch" }).waitFor({ timeout: 60_000 });
}

/** The processor time of each task of the page's main thread in the next so many milliseconds, by the browser's own trace. */
export async function longestTasks({ browser, page }, ms) {
  await browser.startTracing(page, { categories: ["disabled-by-default-devtools.timeline", "devtools.timeline"] });
  await page.waitForTimeout(ms);
  const { traceEvents } = JSON.parse((await browser.stopTracing()).toString());
  const mains = traceEvents.filter(({ name, args }) => name === "thread_name" && args?.name === "CrRendererMain");
  const tasks = traceEvents.filter(
    ({ name, pid, tid }) => name === "RunTask" && mains.some((each) => each.pid === pid && each.tid === tid),
  );
  if (tasks.length === 0 || tasks.every(({ tdur }) => tdur === undefined))
    throw new Error("the trace names no processor time of tasks");
  return tasks.map(({ tdur = 0 }) => tdur / 1000);
}
