import { mkdtemp, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { type DrawInput, UNNAMED_FEED } from "../../shared/draw-input.ts";
import { DrawVerdict } from "../../shared/draw-verdict.ts";
import type { ScenarioFile } from "../../shared/files/scenario-file.ts";
import { readCaptureCsv } from "../../src/capture/read-capture-csv.ts";
import { scenarioNames } from "../../src/simulator/load-scenario.ts";
import { verdictOnDraw } from "../../src/verdict/draw-verdict.ts";
import { wholeCsv } from "../capture/whole-csv.ts";
import { powerUp } from "./power-up.ts";

/** A quick meter; a slow one with coarse steps that does not say its mode; the short watch of a sweep. */
const METERS = [
  { intervalMs: 12, stepAmps: 0.001, saysMode: true, watchMs: 6000 },
  { intervalMs: 100, stepAmps: 0.01, saysMode: false, watchMs: 6000 },
  { intervalMs: 50, stepAmps: 0.001, saysMode: true, watchMs: 3000 },
] as const;

const names = await scenarioNames();
let folder = "";
beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), "scenarios-"));
});
afterAll(() => rm(folder, { recursive: true }));

/** With 10 mA steps open and standby cannot be told apart, and saying so is right. */
const blurred = (verdict: DrawVerdict, expected: ScenarioFile["expected"], stepAmps: number): boolean =>
  stepAmps >= 0.01 &&
  (expected.class === "open-input" || expected.class === "standby-only") &&
  verdict.class === "cannot-tell" &&
  verdict.candidates
    .map((each) => each.class)
    .sort()
    .slice(-2)
    .join() === "open-input,standby-only";

const withoutColumns = ({ traces, ...rest }: DrawInput): DrawInput => ({
  ...rest,
  traces: traces.map((trace) => ({
    ...trace,
    feed: traces.length === 1 ? UNNAMED_FEED : trace.feed,
    mode: null,
    setVolts: null,
    limitAmps: null,
    stage: null,
  })),
});

describe.each(METERS)(
  "verdictOnDraw() with a meter that reads every $intervalMs ms in steps of $stepAmps A",
  (meter) => {
    it.each(names)("%s gets its class, also as a file and from times, volts and amps alone", async (name) => {
      const { input, loaded } = await powerUp(name, meter);
      const { expected } = loaded.scenario;
      const verdict = verdictOnDraw(input);
      const right = (found: DrawVerdict) =>
        [expected.class, ...expected.also].includes(found.class) || blurred(found, expected, meter.stepAmps);
      expect(DrawVerdict.parse(verdict)).toEqual(verdict);
      expect(right(verdict), `${verdict.class}: ${verdict.because.join(" ")}`).toBe(true);
      if (expected.sub !== undefined) expect(verdict.sub).toBe(expected.sub);
      const named = [verdict.class, ...verdict.candidates.map((each) => each.class)];
      for (const candidate of expected.candidates) expect(named).toContain(candidate);

      const file = join(folder, `${name}-${meter.intervalMs}.csv`);
      await writeFile(file, wholeCsv(input.traces));
      const traces = await readCaptureCsv(file);
      expect(traces).toEqual(input.traces);
      expect(verdictOnDraw({ ...input, traces })).toEqual(verdict);

      const bare = verdictOnDraw(withoutColumns(input));
      expect(right(bare), `bare: ${bare.class}: ${bare.because.join(" ")}`).toBe(true);
    });
  },
);
