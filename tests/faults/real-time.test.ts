import { beforeAll, describe, expect, test } from "vitest";
import { loadScenario } from "../../src/simulator/load-scenario.ts";
import { noteRun } from "../note-run.ts";
import { type RealRun, realRun, wasStarved } from "./real-run.ts";

/** Every dialect on every kind of link. */
const EACH_PAIR = [
  { scenario: "start-loop", dialect: "numbered", transport: "tcp" },
  { scenario: "normal", dialect: "numbered", transport: "pty" },
  { scenario: "shorted-high-side", dialect: "selection", transport: "tcp" },
  { scenario: "back-feed", dialect: "selection", transport: "pty" },
  { scenario: "partly-up", dialect: "channel-list", transport: "tcp" },
  { scenario: "open-input", dialect: "channel-list", transport: "pty" },
  { scenario: "over-demand", dialect: "plain", transport: "tcp" },
  { scenario: "standby-missing-feed", dialect: "plain", transport: "pty" },
] as const;
/** The same once more with other boards. */
const OTHER_BOARDS = [
  { scenario: "partial-short", dialect: "numbered", transport: "tcp" },
  { scenario: "dead-short", dialect: "numbered", transport: "pty" },
  { scenario: "standby-only", dialect: "selection", transport: "tcp" },
  { scenario: "single-feed", dialect: "selection", transport: "pty" },
  { scenario: "reversed-leads", dialect: "channel-list", transport: "tcp" },
  { scenario: "core-alive", dialect: "channel-list", transport: "pty" },
  { scenario: "retrying-visible", dialect: "plain", transport: "tcp" },
  { scenario: "single-feed", dialect: "plain", transport: "pty" },
] as const;
const RUNS = process.env["FIRSTAMP_REAL_RUNS"] === "all" ? [...EACH_PAIR, ...OTHER_BOARDS] : EACH_PAIR;

/** So many at a time: each is five processes, and a reply that a busy machine delays is a fault to the program. */
const AT_A_TIME = 4;
/** How often a run may be done again because the machine, not the board, ended it; in all. */
const MOST_REPEATS = 4;
/** A busy machine needs its time. */
const MOST_MS = 240_000;

type Run = (typeof RUNS)[number];

describe("in real time, simulated bench and program each a process of its own", () => {
  let repeats = 0;
  const seen: RealRun[] = [];
  const done = async (run: Run): Promise<RealRun> => {
    for (;;) {
      const result = await realRun({ ...run, allByCommand: run.scenario === "normal" });
      seen.push(result);
      if (!wasStarved(result.document) || repeats >= MOST_REPEATS) {
        noteRun(null);
        return result;
      }
      noteRun(result.document?.trip?.because ?? "no verdict");
      repeats += 1;
    }
  };
  const runs = new Map<Run, Promise<RealRun>>();
  beforeAll(() => {
    const lanes: Promise<unknown>[] = Array.from({ length: AT_A_TIME }, () => Promise.resolve());
    for (const [index, run] of RUNS.entries()) {
      const result = (lanes[index % AT_A_TIME] ?? Promise.resolve()).then(() => done(run));
      lanes[index % AT_A_TIME] = result.catch(() => {});
      runs.set(run, result);
    }
  });

  test.each(RUNS)("$scenario: $dialect over $transport", { timeout: MOST_MS }, async (run) => {
    const { expected } = (await loadScenario(run.scenario)).scenario;
    const { code, document, classified, err } = (await runs.get(run)) as RealRun;
    if (document === null) throw new Error(`powerup printed nothing (exit ${code}): ${err}`);
    const told = `${document.class}: ${document.because.join("; ")} | ${document.trip?.because ?? "no trip"}`;
    expect([expected.class, ...expected.also], told).toContain(document.class);
    if (expected.sub !== undefined) expect(document.sub, told).toBe(expected.sub);
    expect(document.trip?.rule, told).toBe(expected.trip);
    expect(code, told).toBe(expected.trip === undefined ? 0 : 3);
    const { class: drawClass, sub, candidates, because, features } = document;
    expect(classified).toMatchObject({ class: drawClass, features });
    // A file of readings does not say what cut the run: the run's own verdict may know more than it, never the other way.
    if (document.trip === null) expect(classified).toMatchObject({ candidates, because });
    if (document.trip === null) expect(classified?.sub).toBe(sub);
  });

  test("every output was off at the end of every run, by the run's own word and by the instrument's to a stranger", {
    timeout: MOST_MS,
  }, async () => {
    await Promise.all(runs.values());
    expect(seen.length).toBeGreaterThanOrEqual(RUNS.length);
    for (const { document, outputs } of seen) {
      expect(document?.output ?? "off").toBe("off");
      expect(outputs.length).toBeGreaterThan(0);
      for (const answer of outputs) expect(answer).toBe("0");
    }
  });
});
