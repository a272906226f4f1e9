import type { Browser } from "playwright-core";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import type { DrawClass } from "../../shared/draw-verdict.ts";
import { loadScenario, scenarioNames } from "../../src/simulator/load-scenario.ts";
import { openBrowser } from "../browser/page-rig.ts";
import { endPrograms, fewAtATime } from "./run-program.ts";
import { type WholeJob, wholeJob } from "./whole-job.ts";

/** What an owner has to read of each class, in any words that say it. */
const SAYS: Record<DrawClass, RegExp> = {
  "open-input": /takes no current/,
  "dead-short": /shorted/,
  overload: /more (current )?than|conducts|limit|starts again/,
  retrying: /again/,
  "standby-only": /standby/i,
  "partly-up": /part of the board/,
  "core-alive": /core draws current/,
  normal: /good boards of its kind/,
  creeping: /keeps (on )?rising/,
  "cannot-tell": /do not decide/,
};

/** Boards that are there to be injected into: their cold readings keep them from power. */
const UNPOWERED = ["injection", "injection-cleared"];

/** One that trips, one that is never powered, and two that are probed while they are on. */
const FEW = ["dead-short", "injection", "leaking-creep", "partly-up"];
/** With those one board of each class. */
const CLASSES = [
  ...FEW,
  ...["back-feed", "core-alive", "normal", "open-input", "partial-short", "retrying-visible", "standby-only"],
];
const NAMES = await namesOf(process.env["FIRSTAMP_WHOLE_JOBS"]);
const jobs = new Map<string, WholeJob>();
let browser: Browser | null = null;
beforeAll(async () => {
  await fewAtATime(NAMES, 4, async (name) => void jobs.set(name, await wholeJob(name)));
}, 590_000);
afterAll(async () => {
  await browser?.close();
  await endPrograms();
});

async function namesOf(asked: string | undefined): Promise<readonly string[]> {
  if (asked === undefined) return FEW;
  return asked === "classes" ? CLASSES : await scenarioNames();
}

/** The text of a piece of markup as a reader sees it. */
const textOf = (html: string): string =>
  html
    .replace(/<style>.*?<\/style>|<svg.*?<\/svg>/gs, " ")
    .replace(/<[^>]+>/g, " ")
    .replaceAll("&quot;", '"')
    .replaceAll("&amp;", "&")
    .replaceAll("&#39;", "'")
    .replace(/\s+/g, " ");

/** Seconds, from "41 s", or a bound for what is longer. */
const secondsIn = (text: string): number =>
  Number(/([\d.]+) s/.exec(text)?.[1] ?? Number.NaN) - (text.startsWith("under") ? 0.5 : 0);
/** Amps in "850 mA ± 4 mA", "1.2 A". */
function ampsIn(text: string): number {
  const [, figure, milli] = /([\d.]+) (m?)A/.exec(text) ?? [];
  return Number(figure) * (milli === "m" ? 1e-3 : 1);
}

describe.each(NAMES)("the whole job of %s by command line", (name) => {
  const whole = (): WholeJob => {
    const job = jobs.get(name);
    if (job === undefined) throw new Error("the job was not walked");
    return job;
  };
  const letter = (): string => textOf(whole().report.split('<section class="appendix">')[0] ?? "");

  test("the report says of the board as found what it is, and as left what a good one draws", async () => {
    const { scenario } = await loadScenario(name);
    const { expected } = scenario;
    const text = letter();
    if (UNPOWERED.includes(name)) {
      // The cold ohms forbid power: nobody knows what it would draw, and that is what the letter says.
      expect(text).toMatch(/Measured without power: core 0\.0\d+ Ω/);
      expect(text).toMatch(/No run of this job before its first repair gave a verdict/);
      expect(text.slice(text.indexOf("As left"))).toMatch(SAYS.normal);
      return;
    }
    const [, found = "", left = ""] =
      /<tr><th scope="row">Draw<\/th><td>(.*?)<\/td><td>(.*?)<\/td>/s.exec(whole().report) ?? [];
    const possible = [expected.class, ...expected.also].map((each) => SAYS[each]);
    expect(
      possible.some((says) => says.test(found)),
      found,
    ).toBe(true);
    expect(left).toMatch(SAYS.normal);
    const cut = /The power was cut because[^.]*/.exec(text);
    expect(cut !== null, cut?.[0]).toBe(expected.trip !== undefined);
    // The scenario's own figure, where it has one for the board at its working voltage.
    const amps = expected.trip === undefined ? /([\d.]+) (m?)A\b/.exec(expected.why) : null;
    const [, foundAmps = "", leftAmps = ""] =
      /<tr><th scope="row">Steady current<\/th><td>(.*?)<\/td><td>(.*?)<\/td>/s.exec(whole().report) ?? [];
    if (amps !== null && expected.class !== "retrying" && expected.class !== "cannot-tell")
      expect(Math.abs(ampsIn(foundAmps) / ampsIn(amps[0]) - 1), `${foundAmps}, ${expected.why}`).toBeLessThan(0.1);
    const good = ampsIn(leftAmps);
    expect(Math.min(Math.abs(good / 2.5 - 1), Math.abs(good / 0.85 - 1)), leftAmps).toBeLessThan(0.05);
  });

  test("the times in it are those that the simulator had its outputs on", () => {
    const { report, found, left } = whole();
    if (UNPOWERED.includes(name)) return expect(found.onMs / 1000).toBe(0);
    const [, foundFor = "", leftFor = ""] =
      /<tr><th scope="row">Under power for<\/th><td>(.*?)<\/td><td>(.*?)<\/td>/s.exec(report) ?? [];
    expect(Math.abs(secondsIn(leftFor) - left.onMs / 1000), leftFor).toBeLessThan(1.5);
    if (/\d/.test(foundFor)) expect(Math.abs(secondsIn(foundFor) - found.onMs / 1000), foundFor).toBeLessThan(1.5);
  });

  test("probed while it was on, it reads what the simulator had there, and the verdict is that of the true volts", () => {
    const { swept, report } = whole();
    if (swept === null) return expect(whole().diagnosis).not.toBe("");
    expect(swept.length).toBeGreaterThan(0);
    for (const { rail, volts, expandedVolts, verdict, trueVolts, limits } of swept) {
      expect(Math.abs(volts - trueVolts), rail).toBeLessThan(2 * expandedVolts + 0.005);
      const isBad = trueVolts < (limits[0] ?? -1e9) || trueVolts > (limits[1] ?? 1e9);
      expect([rail, verdict.endsWith("pass")]).toEqual([rail, !isBad]);
      expect(textOf(report)).toContain(`${rail} `);
    }
  });

  test("what was done and tested is there, and nobody claims what nobody did", () => {
    const text = letter();
    for (const fact of [
      "A. Invented",
      "K2-0042",
      "It does not come on any more.",
      "What was wrong is replaced.",
      "part at U7: new",
    ])
      expect(text).toContain(fact);
    expect(text).toMatch(/Result: The board passed/);
    expect(text).toMatch(/5 of 5|5\/5/);
    const untested = text.slice(text.lastIndexOf("Not tested:"));
    expect(untested).toMatch(/Voltage of each rail/);
    expect(untested).toMatch(/Long run/);
    expect(untested).not.toMatch(/Current drawn|First power-up|starts/);
  });

  test("it has no word of a program in it", () => {
    const text = letter();
    expect(text).not.toMatch(/undefined|NaN|null|\[object|\{"|MEAS|OUTP|SCPI|SCHED|board-stopped|as-planned/);
    for (const identifier of Object.keys(SAYS).filter((each) => each.includes("-")))
      expect(textOf(whole().report)).not.toContain(identifier);
  });

  test("printed, the letter has two pages at most, and the appendix begins on a page of its own", async () => {
    browser ??= await openBrowser();
    const page = await browser.newPage();
    try {
      const pages = async (html: string): Promise<number> => {
        await page.setContent(html);
        const pdf = await page.pdf({ preferCSSPageSize: true });
        return pdf.toString("latin1").match(/\/Type\s*\/Page\b(?!s)/g)?.length ?? 0;
      };
      const { report } = whole();
      const alone = await pages(`${report.split('<section class="appendix">')[0]}</body></html>`);
      expect(alone).toBeGreaterThanOrEqual(1);
      expect(alone).toBeLessThanOrEqual(2);
      expect(await pages(report)).toBeGreaterThan(alone);
    } finally {
      await page.close();
    }
  });
});
