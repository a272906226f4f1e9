import { describe, expect, test } from "vitest";
import type { SweepLine } from "../../shared/sweep.ts";
import { emptyState, received } from "../../web/page/page-state.ts";
import { wordFor } from "../../web/page/sweep-keys.ts";
import { sweepShown, withLine } from "../../web/page/sweep-shown.ts";
import { toneFor } from "../../web/page/tone-for.ts";
import { openingStep, stepMarks, stepTurnedTo } from "../../web/record/job-steps.ts";
import { expandedText, limitsText, valueText } from "../../web/views/rail-words.ts";
import { exampleSheet } from "../browser/example-job.ts";
import { exampleOutcome, watchedRun } from "../browser/example-run.ts";
import { exampleSweep, liveReading, placeProbe, sweepDone, sweptRail } from "../browser/example-sweep.ts";
import { exampleFrame, exampleSnapshot } from "../wire/example-snapshot.ts";

describe("the steps of the job", () => {
  const quiet = received(emptyState, { type: "snapshot", snapshot: exampleSnapshot() }, 0);
  const running = received(quiet, { type: "run-state", run: watchedRun() }, 0);
  const ended = received(running, { type: "outcome", run: "run-1", outcome: exampleOutcome() }, 0);
  const sweeping = received(quiet, { type: "sweep", sweep: exampleSweep() }, 0);
  const job = exampleSheet("0193f5a2-7c11-7a44-9d1e-5a6b7c8d9e10");
  const without = (kind: string) => ({ ...job, events: job.events.filter((each) => each.kind !== kind) });

  test("are done as the record has them, and cold readings are open again after a repair", () => {
    const marks = stepMarks(ended, job);
    expect([...marks].filter(([, mark]) => mark === "done").map(([step]) => step)).toEqual([
      "intake",
      "permit",
      "power-up",
      "verdict",
      "next",
      "repair",
    ]);
    expect([marks.get("cold"), marks.get("again")]).toEqual(["open", "now"]);
    expect(stepMarks(ended, without("repair")).get("cold")).toBe("done");
    expect(stepMarks(quiet, null).get("intake")).toBe("now");
    expect([stepMarks(running, job).get("power-up"), stepMarks(sweeping, job).get("sweep")]).toEqual(["now", "now"]);
  });

  test("turn by themselves to a run that begins, its verdict, a sweep, its diagnosis, and never else", () => {
    expect([openingStep(quiet), openingStep(running), openingStep(ended), openingStep(sweeping)]).toEqual([
      "intake",
      "power-up",
      "verdict",
      "sweep",
    ]);
    const swept = received(sweeping, { type: "sweep-line", sweep: "sweep-1", line: sweepDone() }, 0);
    const onlyFrame = received(running, exampleFrame(1, { aux: [12, 1] }), 0);
    expect([
      stepTurnedTo(quiet, running),
      stepTurnedTo(running, ended),
      stepTurnedTo(quiet, sweeping),
      stepTurnedTo(sweeping, swept),
      stepTurnedTo(running, onlyFrame),
      stepTurnedTo(sweeping, { ...sweeping, run: watchedRun() }),
    ]).toEqual(["power-up", "verdict", "sweep", "next", null, null]);
  });
});

describe("a sweep's lines", () => {
  const begun = sweepShown(exampleSweep(), 100);
  const then = (...lines: SweepLine[]) => lines.reduce((shown, line) => withLine(shown, line, 200), begun);

  test("leave a page that opens late where one that was there is", () => {
    const { lines } = exampleSweep();
    const live = lines.reduce(
      (shown, line) => withLine(shown, line, 100),
      sweepShown({ ...exampleSweep(), lines: [] }, 100),
    );
    expect(begun).toEqual(live);
    expect([begun.place?.rail, begun.rails.map((each) => each.rail), begun.draw?.class]).toEqual([
      "1v8",
      ["5v", "3v3"],
      "partly-up",
    ]);
  });

  test("keep one value a rail: a correction takes the place of what it corrects", () => {
    const corrected = then({ event: "rail", ...sweptRail("5v", 4.98, { corrects: true }) });
    expect(corrected.rails.map((each) => [each.rail, each.volts])).toEqual([
      ["3v3", 0.42],
      ["5v", 4.98],
    ]);
  });

  test("forget the reading of a rail with the rail, and while the board cools", () => {
    const reading = then(liveReading("1v8", 1.8));
    expect([reading.reading?.volts, reading.readAtMs]).toEqual([1.8, 200]);
    expect(then(liveReading("1v8", 1.8), placeProbe("core", "L12")).reading).toBeNull();
    const cooling: SweepLine = { event: "cooling", rail: "1v8", secondsLeft: 60, because: "on for its longest time" };
    expect([then(cooling).place, then(cooling).cooling?.secondsLeft]).toEqual([null, 60]);
  });

  test("sound differently for a value within, a value without, a question and the end", () => {
    const state = { ...emptyState, sweep: begun };
    const toneOf = (line: SweepLine) => toneFor(state, { type: "sweep-line", sweep: "sweep-1", line });
    const cooling: SweepLine = { event: "cooling", rail: null, secondsLeft: 60, because: "" };
    expect([
      toneOf({ event: "rail", ...sweptRail("core", 0.85) }),
      toneOf({ event: "rail", ...sweptRail("core", 0.1, { verdict: "fail" }) }),
      toneOf({ event: "question", rail: "1v8", volts: 5, because: "it fits another", fits: "5v" }),
      toneOf(cooling),
      toneOf(sweepDone()),
      toneOf(liveReading("1v8", 1)),
    ]).toEqual(["taken", "taken-bad", "question", "cooling", "settled", null]);
  });

  test("are steered by keys that are no letters, never by one that is held or that a field has", () => {
    const page = { tag: "DIV", role: null };
    expect(
      ["Enter", "ArrowLeft", "ArrowRight", "ArrowDown", "Escape", " ", "t"].map((key) =>
        wordFor({ key, repeat: false }, page),
      ),
    ).toEqual(["take", "redo", "skip", "cannot-reach", null, null, null]);
    expect(wordFor({ key: "Enter", repeat: true }, page)).toBeNull();
    for (const focus of [
      { tag: "INPUT", role: null },
      { tag: "BUTTON", role: null },
      { tag: "DIV", role: "tab" },
    ])
      expect(wordFor({ key: "Enter", repeat: false }, focus)).toBeNull();
  });

  test("are told in their own quantity, with the expanded uncertainty, and what belongs there", () => {
    const rail = sweptRail("core", 0.85);
    expect([valueText(rail), expandedText(rail), limitsText([1.71, 1.89], "V")]).toEqual([
      "0.850 V",
      " ± 4 mV",
      "1.71 V to 1.89 V",
    ]);
    expect([
      valueText({ ohms: "open" }),
      valueText({ ohms: 0.35 }),
      valueText({ ohms: null }),
      valueText({ diodeVolts: 0.45 }),
    ]).toEqual(["open", "0.35 Ω", "–", "0.450 V"]);
    expect([limitsText([300, null], "Ω"), limitsText([null, null], "Ω")]).toEqual([
      "at least 300 Ω",
      "what belongs is not known",
    ]);
  });
});
