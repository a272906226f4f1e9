import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { TripRule } from "../../shared/plan.ts";
import { IDLE_ROUND_MS } from "../../shared/reading.ts";
import { isCutKey } from "../../web/page/cut-key.ts";
import { freshness } from "../../web/page/freshness.ts";
import { emptyState, mayBeOn, onlyFiguresDiffer, received, unheard } from "../../web/page/page-state.ts";
import { powerState } from "../../web/page/power-state.ts";
import { toneFor } from "../../web/page/tone-for.ts";
import { TraceStore } from "../../web/page/trace-store.ts";
import { roundsOf } from "../../web/record/rounds.ts";
import { nextSteps } from "../../web/views/frame/next-step.ts";
import { ampsText, decimalsOf, duration, fixed, voltsText } from "../../web/views/parts/figures.ts";
import { parseCold } from "../../web/views/power/cold-text.ts";
import { exampleSheet } from "../browser/example-job.ts";
import { exampleOutcome, exampleVerdict, runningSnapshot, toldVerdict, watchedRun } from "../browser/example-run.ts";
import { exampleFrame, exampleReading, exampleSnapshot } from "../wire/example-snapshot.ts";

describe("a figure in words", () => {
  test("keeps the digits its step deserves and never shows a minus zero", () => {
    expect([fixed(-0.0004, 3), fixed(-0.0006, 3), fixed(0, 2)]).toEqual(["0.000", "−0.001", "0.00"]);
    expect([
      decimalsOf(0.01, 3),
      decimalsOf(0.001, 3),
      decimalsOf(0.0005, 3),
      decimalsOf(1, 3),
      decimalsOf(null, 3),
    ]).toEqual([2, 3, 4, 0, 3]);
    expect([
      voltsText({ kind: "value", volts: 3.3004 }),
      voltsText({ kind: "value", volts: 9.996 }),
      voltsText({ kind: "value", volts: 12.016 }),
    ]).toEqual(["3.300", "10.00", "12.02"]);
  });

  test("that is no number is a word", () => {
    expect([
      voltsText({ kind: "overload" }),
      voltsText({ kind: "no-reading" }),
      ampsText({ kind: "overload" }, 0.001),
    ]).toEqual(["over", "none", "over"]);
  });

  test("of time goes from milliseconds to minutes without saying 60 s", () => {
    expect([0, 340, 999.6, 1000, 1234, 59_949, 59_960, 125_000].map(duration)).toEqual([
      "0 ms",
      "340 ms",
      "1000 ms",
      "1.0 s",
      "1.2 s",
      "59.9 s",
      "1 min 00 s",
      "2 min 05 s",
    ]);
  });
});

describe("cold readings as typed", () => {
  test("are read with their prefixes", () => {
    expect(parseCold("aux = 12.4k\n\n aux:core=3.1 kΩ\nslot12=open\nslot3v3 = 0.4 ohm\ncore=350m\nm=2M")).toEqual({
      ok: true,
      cold: { aux: 12_400, "aux:core": 3_100, slot12: "open", slot3v3: 0.4, core: 0.35, m: 2e6 },
    });
  });

  test("are refused with their line where they are anything else", () => {
    for (const line of ["aux", "aux=", "aux=twelve", "aux=12,400", "aux=-3", "a:b:c=1", "=5", "aux=1e5", "aux=12V"]) {
      expect(parseCold(`slot12=1k\n${line}`), line).toEqual({ ok: false, because: expect.stringContaining(line) });
    }
    expect(parseCold("aux=1\naux=2")).toMatchObject({ ok: false, because: expect.stringContaining("twice") });
    expect(parseCold("constructor = 5")).toEqual({ ok: true, cold: { constructor: 5 } });
  });

  test("written from any ohms come back as those ohms", () => {
    fc.assert(
      fc.property(fc.double({ min: 0, max: 1e7, noNaN: true }), (ohms) => {
        const parsed = parseCold(`aux = ${ohms.toFixed(6)}`);
        expect(parsed.ok && parsed.cold["aux"]).toBeCloseTo(ohms, 5);
      }),
    );
  });
});

describe("a figure's freshness", () => {
  test("ends after three read intervals and the way here, also when nothing more is heard", () => {
    const figure = { ageMs: 20, arrivedAtMs: 1_000, readIntervalMs: 50, resting: false };
    expect(freshness(figure, 1_000)).toEqual({ ageMs: 20, stale: false, staleInMs: 580 });
    expect(freshness(figure, 1_580)?.stale).toBe(false);
    expect(freshness(figure, 1_581)).toEqual({ ageMs: 601, stale: true, staleInMs: -1 });
    expect(freshness({ ...figure, ageMs: 900 }, 1_000)?.stale).toBe(true);
    expect(freshness({ ...figure, ageMs: null }, 1_000)).toBeNull();
  });

  test("while no run is on it lasts over the slower round of that time, however fast the supply answers", () => {
    const figure = { ageMs: 0, arrivedAtMs: 1_000, readIntervalMs: 2, resting: true };
    const rounds = [1, 2, 3].map((count) => freshness(figure, 1_000 + count * IDLE_ROUND_MS)?.stale);
    expect(rounds).toEqual([false, false, false]);
    expect(freshness(figure, 1_000 + 3 * IDLE_ROUND_MS + 451)?.stale).toBe(true);
    // An instrument that is slower than that is given its own time.
    expect(freshness({ ...figure, readIntervalMs: 400 }, 2_400)?.stale).toBe(false);
  });
});

describe("the cut keys", () => {
  test("Escape always cuts, the foot key while anything may be on, a repeat never", () => {
    const foot = { footKey: " ", isWriting: false };
    expect(isCutKey({ key: "Escape", repeat: false }, { ...foot, mayBeOn: false })).toBe(true);
    expect(isCutKey({ key: " ", repeat: false }, { ...foot, mayBeOn: true })).toBe(true);
    expect(isCutKey({ key: " ", repeat: false }, { ...foot, mayBeOn: false })).toBe(false);
    expect(isCutKey({ key: "F8", repeat: false }, { footKey: "F8", mayBeOn: true, isWriting: false })).toBe(true);
    expect(isCutKey({ key: "Enter", repeat: false }, { ...foot, mayBeOn: true })).toBe(false);
    expect(isCutKey({ key: "Escape", repeat: true }, { ...foot, mayBeOn: true })).toBe(false);
  });

  test("no key but Escape cuts while somebody writes, nor before a foot key was chosen", () => {
    const on = { mayBeOn: true };
    expect(isCutKey({ key: " ", repeat: false }, { ...on, footKey: " ", isWriting: true })).toBe(false);
    expect(isCutKey({ key: "Escape", repeat: false }, { ...on, footKey: " ", isWriting: true })).toBe(true);
    expect(isCutKey({ key: " ", repeat: false }, { ...on, footKey: null, isWriting: false })).toBe(false);
  });
});

/** A job that was run in its present round, so that its verdict is what the next step follows from. */
const openJob = () => {
  const sheet = exampleSheet("0193f5a2-7c11-7a44-9d1e-5a6b7c8d9e10");
  const events = sheet.events.filter((each) => each.kind !== "repair");
  const whole = { ...sheet, events };
  return { job: sheet.id, sheet: whole, round: roundsOf(whole).at(-1) ?? null };
};

describe("the page's state", () => {
  const quiet = received(emptyState, { type: "snapshot", snapshot: exampleSnapshot() }, 10);

  test("counts as on whatever is not known to be off", () => {
    expect([quiet.phase, mayBeOn(quiet)]).toEqual(["live", false]);
    expect(mayBeOn(received(quiet, exampleFrame(0, { aux: [12, 1] }), 20))).toBe(true);
    expect(mayBeOn(unheard(quiet, "lost"))).toBe(true);
    expect(mayBeOn(received(quiet, { type: "run-state", run: watchedRun() }, 20))).toBe(true);
    expect(mayBeOn(received(quiet, { type: "alarm", alarm: { message: "", output: "unknown" } }, 20))).toBe(true);
  });

  test("gives a reading of a snapshot no age, so that it is not shown as live", () => {
    const running = received(emptyState, { type: "snapshot", snapshot: runningSnapshot() }, 10);
    expect(running.feeds["aux"]?.last?.volts).toEqual({ kind: "value", volts: 12.02 });
    expect(running.feeds["aux"]?.ageMs).toBeNull();
  });

  test("loses control and what is on with the connection, and keeps the last figures", () => {
    const live = received(
      received(quiet, exampleFrame(5, { aux: [12, 1] }), 20),
      { type: "lease", holder: "you", mayOperate: true },
      20,
    );
    const lost = unheard(live, "lost");
    expect([lost.phase, lost.lease, lost.feeds["aux"]?.output, lost.feeds["aux"]?.last?.atMs]).toEqual([
      "lost",
      "nobody",
      "unknown",
      5,
    ]);
  });

  test("forgets the last verdict when another run begins, not before", () => {
    const judged = received(
      received(quiet, { type: "run-state", run: watchedRun() }, 1),
      { type: "verdict", verdict: toldVerdict() },
      2,
    );
    expect(received(judged, { type: "run-state", run: watchedRun() }, 3).verdict).not.toBeNull();
    expect(received(judged, { type: "run-state", run: { ...watchedRun(), run: "run-2" } }, 3).verdict).toBeNull();
  });

  test("keeps fifty lines of the log", () => {
    let state = quiet;
    for (let each = 0; each < 60; each++)
      state = received(state, { type: "log", line: { at: "", level: "info", text: String(each) } }, 0);
    expect([state.log.length, state.log[0]?.text]).toEqual([50, "10"]);
  });

  test("says what to do next by what was done: nothing but an order of the hands once the daemon is out of hearing", () => {
    const { sheet, job } = openJob();
    expect(nextSteps(unheard(quiet, "lost"), openJob())[0]).toBe("Hands off. Switch the supply off by its own switch.");
    const empty = { ...sheet, events: sheet.events.slice(0, 2), cold: {} };
    expect(nextSteps(quiet, { job, sheet: empty, round: roundsOf(empty).at(-1) ?? null })).toEqual([
      "Take cold readings of every feed and rail pair.",
    ]);
    const repaired = exampleSheet(job);
    expect(nextSteps(quiet, { job, sheet: repaired, round: roundsOf(repaired).at(-1) ?? null })[0]).toContain(
      "take the cold readings again",
    );
    expect(nextSteps(quiet, { job: null, sheet: null, round: null })[0]).toContain("Open the job");
  });

  test("differs in figures alone where only readings came", () => {
    const running = received(quiet, exampleFrame(0, { aux: [12, 1] }), 20);
    expect(onlyFiguresDiffer(running, received(running, exampleFrame(1, { aux: [12, 1.1] }), 30))).toBe(true);
    expect(onlyFiguresDiffer(quiet, running)).toBe(false);
    expect(onlyFiguresDiffer(running, unheard(running, "lost"))).toBe(false);
  });

  test("says what is true of the whole bench: on, off, ending, or not known", () => {
    const running = received(quiet, { type: "run-state", run: watchedRun() }, 20);
    const on = received(running, exampleFrame(0, { slot3v3: [3.3, 0], slot12: [12, 0], aux: [12, 1] }), 20);
    const ending = received(on, { type: "run-state", run: { ...watchedRun(), stage: "off" } }, 30);
    expect([powerState(quiet), powerState(on), powerState(ending), powerState(unheard(on, "lost"))]).toEqual([
      "off",
      "on",
      "ending",
      "unknown",
    ]);
    expect(powerState(received(quiet, { type: "alarm", alarm: { message: "", output: "unknown" } }, 1))).toBe(
      "unknown",
    );
  });

  test("says what to do next whatever the class of the draw is, and never to raise a limit on a dead short", () => {
    for (const name of [
      "open-input",
      "dead-short",
      "overload",
      "retrying",
      "standby-only",
      "partly-up",
      "core-alive",
      "normal",
      "creeping",
      "cannot-tell",
    ] as const) {
      const state = {
        ...quiet,
        verdict: toldVerdict({ ...exampleVerdict(), class: name }),
      };
      expect(nextSteps(state, openJob()).length, name).toBeGreaterThan(0);
    }
    expect(
      nextSteps(
        {
          ...quiet,
          verdict: toldVerdict({ ...exampleVerdict(), class: "dead-short" }),
        },
        openJob(),
      ).join(" "),
    ).toContain("Do not raise the limit");
    expect(nextSteps({ ...quiet, verdict: toldVerdict(exampleVerdict(), ["measure 5v"]) }, openJob())).toEqual([
      "measure 5v",
    ]);
  });
});

describe("tones", () => {
  const quiet = received(emptyState, { type: "snapshot", snapshot: exampleSnapshot() }, 0);
  const limited = {
    ...exampleFrame(1, { aux: [4, 3] }),
    feeds: [{ feed: "aux", output: "on" as const, ageMs: 0, readings: [exampleReading(1, 4, 3, "cc")] }],
  };

  test("say that limiting began, once", () => {
    expect(toneFor(quiet, limited)).toBe("limiting");
    expect(toneFor(received(quiet, limited, 0), limited)).toBeNull();
    expect(toneFor(quiet, { ...limited, feeds: limited.feeds.map((feed) => ({ ...feed, output: "off" })) })).toBeNull();
  });

  test("are another for a collapse, a cut, a settled draw and an alarm", () => {
    for (const rule of TripRule.options) {
      const tone = toneFor(quiet, {
        type: "trip",
        run: "1",
        trip: { rule, feed: null, stage: "rise", atMs: 0, board: true, because: "" },
      });
      expect(tone, rule).toBe(rule === "collapse" || rule === "start-loop" ? "collapse" : "cut");
    }
    expect(toneFor(quiet, { type: "verdict", verdict: toldVerdict() })).toBe("settled");
    expect(toneFor(quiet, { type: "alarm", alarm: { message: "", output: "unknown" } })).toBe("alarm");
    expect(toneFor(quiet, { type: "alarm", alarm: null })).toBeNull();
    expect(toneFor(quiet, { type: "outcome", run: "1", outcome: exampleOutcome() })).toBeNull();
  });
});

describe("the trace", () => {
  const begun = (): TraceStore => {
    const store = new TraceStore();
    store.take({ type: "run-state", run: watchedRun() });
    return store;
  };
  const frame = (atMs: number, amps: number, gap = false) => ({ ...exampleFrame(atMs, { aux: [12, amps] }), gap });

  test("holds the run's readings and none from between runs", () => {
    const store = new TraceStore();
    store.take(frame(1, 1));
    expect(store.columns("aux").seconds).toEqual([]);
    store.take({ type: "run-state", run: watchedRun() });
    store.take(frame(2_000, 1));
    store.take({ type: "outcome", run: "run-1", outcome: exampleOutcome() });
    store.take(frame(3_000, 0));
    expect(store.columns("aux")).toEqual({ seconds: [2], volts: [12], amps: [1] });
  });

  test("shows a gap where frames were left out, and drops what is older than what it has", () => {
    const store = begun();
    for (const each of [frame(1_000, 1), frame(500, 9), frame(3_000, 2, true)]) store.take(each);
    expect(store.columns("aux")).toEqual({ seconds: [1, 2, 3], volts: [12, null, 12], amps: [1, null, 2] });
  });

  test("stays bounded however long a run is, and keeps its peak", () => {
    const store = begun();
    for (let each = 1; each <= 40_000; each++) store.take(frame(each * 50, each === 777 ? 7 : 1));
    const { seconds, amps } = store.columns("aux");
    expect(seconds.length).toBeLessThanOrEqual(6_000);
    expect(Math.max(...amps.map((each) => each ?? 0))).toBe(7);
    expect(seconds.every((each, at) => at === 0 || each > (seconds[at - 1] ?? 0))).toBe(true);
  });

  test("names the feed that drew most", () => {
    const store = begun();
    expect(store.busiest()).toBeNull();
    store.take(exampleFrame(1_000, { slot12: [12, 0.4], aux: [12, 1.2], slot3v3: [3.3, 0.1] }));
    expect(store.busiest()).toBe("aux");
  });
});

describe("an age", () => {
  test("of hours is told in hours and minutes", () => {
    expect([duration(7_199_000), duration(7_200_000), duration(40_926_000)]).toEqual([
      "119 min 59 s",
      "2 h 0 min",
      "11 h 22 min",
    ]);
  });

  test("of two days and more is told in days and hours", () => {
    expect([duration(172_799_000), duration(172_800_000), duration(466_620_000)]).toEqual([
      "48 h 0 min",
      "2 d 0 h",
      "5 d 10 h",
    ]);
  });
});
