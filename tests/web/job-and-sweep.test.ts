import { describe, expect, test } from "vitest";
import type { SweepLine } from "../../shared/sweep.ts";
import { addressIn, hashOf } from "../../web/page/address.ts";
import { emptyState, received } from "../../web/page/page-state.ts";
import { wordFor } from "../../web/page/sweep-keys.ts";
import { sweepShown, withLine } from "../../web/page/sweep-shown.ts";
import { toneFor } from "../../web/page/tone-for.ts";
import { treeLayout } from "../../web/page/tree-layout.ts";
import { openingPlace, PLACES, placeMarks, placeTurnedTo } from "../../web/record/places.ts";
import { roundsOf } from "../../web/record/rounds.ts";
import { expandedText, limitsText, valueText } from "../../web/views/parts/rail-words.ts";
import { exampleSheet } from "../browser/example-job.ts";
import { exampleOutcome, watchedRun } from "../browser/example-run.ts";
import { exampleSweep, liveReading, placeProbe, sweepDone, sweptRail } from "../browser/example-sweep.ts";
import { exampleFrame, exampleSnapshot } from "../wire/example-snapshot.ts";

describe("the places of a job", () => {
  const id = "0193f5a2-7c11-7a44-9d1e-5a6b7c8d9e10";
  const quiet = received(emptyState, { type: "snapshot", snapshot: exampleSnapshot() }, 0);
  const running = received(quiet, { type: "run-state", run: watchedRun() }, 0);
  const ended = received(running, { type: "outcome", run: "run-1", outcome: exampleOutcome() }, 0);
  const sweeping = received(quiet, { type: "sweep", sweep: { ...exampleSweep(), lines: [] } }, 0);
  const job = exampleSheet(id);
  const [first, second] = roundsOf(job);
  const marks = (state: typeof quiet, round: typeof first | null, expired = false) =>
    Object.fromEntries(placeMarks(state, id, round ?? null, expired));

  test("have their ticks by round: a repair ends one, and the next has none of them", () => {
    expect([roundsOf(job).length, first?.runs.length, second?.runs.length]).toEqual([2, 0, 2]);
    expect(marks(ended, first)).toMatchObject({ board: "done", cold: "done", power: "done", work: "done" });
    expect(marks(ended, second)).toMatchObject({ board: "done", cold: "open", power: "open", work: "open" });
    expect(marks(quiet, null)).toMatchObject({ board: "open", cold: "open" });
  });

  test("show a cold reading that counts no more, and a run only in its own job", () => {
    expect(marks(ended, first, true)["cold"]).toBe("again");
    expect([marks(running, second)["power"], marks(sweeping, second)["probe"]]).toEqual(["now", "now"]);
    const elsewhere = { ...running, run: { ...watchedRun(), job: "another" } };
    expect(marks(elsewhere, second)["power"]).toBe("open");
  });

  test("turn by themselves to a run that begins and to a sweep's first rail, and never else", () => {
    expect([openingPlace(quiet), openingPlace(running), openingPlace(ended), openingPlace(sweeping)]).toEqual([
      "board",
      "power",
      "power",
      "probe",
    ]);
    const named = received(sweeping, { type: "sweep-line", sweep: "sweep-1", line: placeProbe("5v", "C1") }, 0);
    const cold = received(quiet, { type: "sweep", sweep: { ...exampleSweep(), cold: true, lines: [] } }, 0);
    expect([
      placeTurnedTo(quiet, running),
      placeTurnedTo(running, ended),
      placeTurnedTo(quiet, sweeping),
      placeTurnedTo(quiet, cold),
      placeTurnedTo(sweeping, named),
      placeTurnedTo(running, received(running, exampleFrame(1, { aux: [12, 1] }), 0)),
      placeTurnedTo(sweeping, { ...sweeping, run: watchedRun() }),
    ]).toEqual(["power", null, "power", "probe", "probe", null, null]);
  });

  test("and the job stand in the address, and come back out of it", () => {
    for (const { place } of PLACES) {
      expect(addressIn(hashOf(id, place))).toEqual({ job: id, place });
      expect(addressIn(hashOf(null, place))).toEqual({ job: null, place });
    }
    for (const hash of ["", "#", "#k=abc", "#/job/../cold", "#/nowhere", "#/job/x/"])
      expect(addressIn(hash), hash).toEqual({ job: null, place: null });
  });
});

describe("the power tree", () => {
  test("has each rail behind all that it needs, and each edge between two boxes of it", () => {
    const { tree } = exampleSnapshot().board;
    const { nodes, edges } = treeLayout(tree);
    expect(nodes.length).toBe(tree.length);
    for (const [from, to] of edges) expect(to.column, `${from.name} to ${to.name}`).toBeGreaterThan(from.column);
    expect(edges.length).toBe(tree.flatMap((each) => each.needs).length);
    expect(new Set(nodes.map((each) => `${each.column} ${each.row}`)).size).toBe(nodes.length);
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
    const cooling: SweepLine = {
      event: "cooling",
      rail: "1v8",
      secondsLeft: 60,
      because: "on for its longest on-time",
    };
    expect([then(cooling).place, then(cooling).cooling?.secondsLeft]).toEqual([null, 60]);
  });

  test("hold a value that was taken until the next point is named", () => {
    const taken = then(
      { event: "rail", ...sweptRail("1v8", 1.803) },
      { event: "next", rail: "core", point: "L12", left: 8 },
    );
    expect([taken.taken?.rail, taken.place]).toEqual(["1v8", null]);
    expect(withLine(taken, placeProbe("core", "L12"), 300).taken).toBeNull();
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
      "what it should read is not known",
    ]);
  });
});
