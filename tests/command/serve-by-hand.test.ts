import { expect, test, vi } from "vitest";
import type { RunOutcome } from "../../shared/plan.ts";
import { isOn, type PoweredBench, timesOn, untilTrue } from "./powered-bench.ts";
import { benchProcessesOf, onceInTime } from "./served-bench.ts";
import {
  begin,
  begun,
  benchUntil,
  closeAfterEach,
  hold,
  type OpenDaemon,
  openBench,
  openDaemon,
  outcomeOf,
} from "./served-run.ts";

// Runs in real time are done again on a machine that is too busy for them.
vi.setConfig({ testTimeout: 180_000 });
closeAfterEach();

/** The daemon on a bench with one feed, and with so many beside that a person switches, after it. */
async function opened(byHand: readonly string[] = []): Promise<OpenDaemon> {
  const bench = await openBench();
  const { benchFile, boardFile } = bench.simulation;
  const manual = Object.fromEntries(byHand.map((feed) => [feed, { manual: true as const }]));
  const feeds = Object.fromEntries(byHand.map((feed, index) => [feed, { order: 20 + index, nominalVolts: 5 }]));
  return await openDaemon(bench, {
    benchFile: { ...benchFile, feeds: { ...benchFile.feeds, ...manual } },
    board: { ...boardFile, feeds: { ...boardFile?.feeds, ...feeds } },
  });
}

/** The daemon on a bench with three feeds; a person switches another one, between the first and the second. */
async function openedWithHandBetween(): Promise<OpenDaemon> {
  const bench = await openBench("normal");
  const { benchFile, boardFile } = bench.simulation;
  const order = { slot3v3: 1, slot12: 3, aux: 4 };
  const ordered = Object.entries(boardFile?.feeds ?? {}).map(([feed, each]) => [
    feed,
    { ...each, order: order[feed as keyof typeof order] },
  ]);
  return await openDaemon(bench, {
    benchFile: { ...benchFile, feeds: { ...benchFile.feeds, hand: { manual: true } } },
    board: { ...boardFile, feeds: { ...Object.fromEntries(ordered), hand: { order: 2, nominalVolts: 5 } } },
  });
}

/** Goes through the questions of a run; `answer` does what a person would. */
async function followed(
  open: OpenDaemon,
  run: string,
  answer: (question: { question: number; asks: string; feed: string }) => void,
): Promise<{ outcome: RunOutcome; asked: string[] }> {
  const asked: string[] = [];
  let ended = false;
  const outcome = outcomeOf(open.by, run).then((each) => {
    ended = true;
    return each;
  });
  while (!ended) {
    const message = await Promise.race([open.by.client.next("question"), outcome.then(() => null)]);
    if (message?.question == null) continue;
    asked.push(`${message.question.asks} ${message.question.feed}`);
    answer(message.question);
  }
  return { outcome: await outcome, asked };
}

/** What was switched after this many switchings, in order, by the simulator's own account. */
function switched({ simulation }: PoweredBench): { feed: string; output: string; atMs: number }[] {
  return Object.entries(simulation.truth().feeds)
    .flatMap(([feed, { switchings }]) => switchings.map(({ output, atMs }) => ({ feed, output, atMs })))
    .toSorted((a, b) => a.atMs - b.atMs);
}

test("a stop while a run is prepared ends it: the start is refused and nothing came on", async () => {
  const open = await opened();
  const { answer } = await begin(open);
  expect(await open.by.stop()).toEqual({ result: "done" });
  expect(await answer).toMatchObject({ result: "refused", code: "cut" });
  expect(timesOn(open.bench.simulation)).toBe(0);
});

test("two feeds that a person switches are each asked for, on and off, to the planned end", async () => {
  const open = await opened(["hand1", "hand2"]);
  const { outcome, asked } = await onceInTime(async () => {
    const ended = await followed(
      open,
      await begun(open),
      ({ question }) => void open.by.answer(question, true, open.lease),
    );
    return { ...ended, trip: ended.outcome.trip };
  });
  expect(outcome).toMatchObject({ ended: "as-planned", output: "off" });
  expect(asked).toEqual(["manual-on hand1", "manual-on hand2", "manual-off hand2", "manual-off hand1"]);
});

test("an answer given twice, as by a double click, is taken once and the run goes on", async () => {
  const open = await opened(["hand1"]);
  const second: Promise<unknown>[] = [];
  const { outcome } = await onceInTime(async () => {
    const ended = await followed(open, await begun(open), ({ question }) => {
      void open.by.answer(question, true, open.lease);
      second.push(open.by.answer(question, true, open.lease));
    });
    return { ...ended, trip: ended.outcome.trip };
  });
  expect(outcome).toMatchObject({ ended: "as-planned", output: "off" });
  for (const answer of await Promise.all(second))
    expect(answer).toMatchObject({ result: "refused", code: "no-question" });
});

test("an answer right after an output went off by itself switches nothing on; the hand is asked to undo what it did", async () => {
  const open = await openedWithHandBetween();
  const { bench, by, lease } = open;
  let before = 0;
  const { outcome, asked } = await onceInTime(async () => {
    const ended = await followed(open, await begun(open), ({ question, asks }) => {
      if (asks === "manual-on") {
        expect(isOn(bench.simulation)).toBe(true);
        before = switched(bench).length;
        bench.simulation.misbehave.frontPanel("slot3v3", { output: "off" });
      }
      void by.answer(question, true, lease);
    });
    const isFrontPanel = ended.outcome.trip?.rule === "front-panel";
    return { ...ended, trip: isFrontPanel ? null : ended.outcome.trip };
  });
  const [off, ...later] = switched(bench).slice(before);
  expect(off).toMatchObject({ feed: "slot3v3", output: "off" });
  expect(later.filter(({ output }) => output === "on")).toEqual([]);
  expect(outcome).toMatchObject({ output: "off", trip: { rule: "front-panel", feed: "slot3v3" } });
  expect(asked).toEqual(["manual-on hand", "manual-off hand"]);
  expect(isOn(bench.simulation)).toBe(false);
});

test("a cut while a hand is waited for is proved, and the hand is asked to switch off what it may have switched on", async () => {
  const open = await openedWithHandBetween();
  const { bench, by, lease } = open;
  const cuts: Promise<unknown>[] = [];
  const { outcome, asked } = await onceInTime(async () => {
    const ended = await followed(open, await begun(open), ({ question, asks }) => {
      if (asks === "manual-on") cuts.push(by.cut());
      else void by.answer(question, true, lease);
    });
    return { ...ended, trip: ended.outcome.ended === "stopped-by-person" ? null : ended.outcome.trip };
  });
  expect(await Promise.all(cuts)).toContainEqual({ result: "done" });
  expect(outcome).toMatchObject({ ended: "stopped-by-person", output: "off" });
  expect(asked).toEqual(["manual-on hand", "manual-off hand"]);
  expect(isOn(bench.simulation)).toBe(false);
});

test("an end in order from the page goes off feed by feed, the last one first", async () => {
  const bench = await openBench("normal");
  const open = await openDaemon(bench);
  const run = await hold(open);
  const before = switched(bench).length;
  expect(await open.by.stop()).toEqual({ result: "done" });
  expect(await outcomeOf(open.by, run)).toMatchObject({ ended: "as-planned", output: "off", trip: null });
  const offs = switched(bench).slice(before);
  expect(offs.map(({ feed, output }) => `${feed} ${output}`)).toEqual(["aux off", "slot12 off", "slot3v3 off"]);
});

test("an output of the bench that the board does not have is watched and cut too: one that a hand switches on ends the run", async () => {
  const bench = await openBench("normal");
  const { aux } = bench.simulation.boardFile?.feeds ?? {};
  const open = await openDaemon(bench, { board: { version: 1, name: "one feed", feeds: { aux } } });
  const run = await hold(open, { coldOhms: {} });
  bench.simulation.misbehave.frontPanel("slot3v3", { output: "on", volts: 3 });
  expect(await outcomeOf(open.by, run)).toMatchObject({
    output: "off",
    trip: { rule: "front-panel", feed: "slot3v3" },
  });
  expect(isOn(bench.simulation)).toBe(false);
  // The same with no run on: a cut reaches it.
  bench.simulation.misbehave.frontPanel("slot3v3", { output: "on", volts: 3 });
  expect(await open.by.cut()).toEqual({ result: "done" });
  await untilTrue(() => !isOn(bench.simulation));
});

test("a cut is taken by the bench's own word and then proved; one with the bench process killed is not said to be taken", async () => {
  const open = await opened();
  await hold(open);
  expect(isOn(open.bench.simulation)).toBe(true);
  // What was said of the bench so far is of the process that is about to end.
  while (open.by.client.has("bench")) await open.by.client.next("bench");
  for (const pid of await benchProcessesOf(open.served.program)) process.kill(pid, "SIGKILL");
  expect(await open.by.cut()).toMatchObject({ result: "refused", code: "cut-not-taken" });
  // The guardian does what the cut could not.
  expect((await open.by.client.next("outcome")).outcome.output).toBe("off");
  expect(isOn(open.bench.simulation)).toBe(false);
  // Its successor is there after a while: a cut is taken again, and proved.
  await benchUntil(open.by, (connected) => connected);
  expect(await open.by.cut()).toEqual({ result: "done" });
  while ((await open.by.client.next("cut-proof")).output !== "off");
});
