import { afterEach, expect, test, vi } from "vitest";
import type { RunOutcome } from "../../shared/plan.ts";
import { isOn, type PoweredBench, poweredBench, timesOn } from "./powered-bench.ts";
import { endPrograms } from "./run-program.ts";
import {
  askedOf,
  benchProcessesOf,
  isStarted,
  onceInTime,
  type Script,
  type Served,
  serveProgram,
  waiverFor,
} from "./served-bench.ts";

// Runs in real time are done again on a machine that is too busy for them.
vi.setConfig({ testTimeout: 180_000 });

const closing: (() => Promise<void>)[] = [];
afterEach(async () => {
  await endPrograms();
  for (const close of closing.splice(0).reverse()) await close();
});

interface Open {
  bench: PoweredBench;
  served: Served;
  by: Script;
  lease: number;
}

/** The program's daemon on a simulated bench, with so many feeds beside that a person switches, and a script in control. */
async function opened(byHand: readonly string[] = []): Promise<Open> {
  const bench = await poweredBench({ scenario: "single-feed" });
  closing.push(bench.close);
  const { benchFile, boardFile } = bench.simulation;
  const manual = Object.fromEntries(byHand.map((feed) => [feed, { manual: true }]));
  const files = [
    await bench.folder.write("bench.json", { ...benchFile, feeds: { ...benchFile.feeds, ...manual } }),
    await bench.folder.write("board.json", {
      ...boardFile,
      feeds: {
        ...boardFile?.feeds,
        ...Object.fromEntries(byHand.map((feed, index) => [feed, { order: 20 + index, nominalVolts: 5 }])),
      },
    }),
  ];
  const served = await serveProgram(
    ["--bench", files[0] ?? "", "--board", files[1] ?? ""],
    `${bench.folder.path}/data`,
  );
  const by = await served.script();
  let { bench: shown } = (await by.client.next("snapshot")).snapshot;
  while (!shown.instruments.every((each) => each.connected)) ({ bench: shown } = await by.client.next("bench"));
  return { bench, served, by, lease: await by.takeLease() };
}

/** Starts a run, every condition that was not done waived, and answers with what came of the start. */
async function begin({ bench, by, lease }: Open, more: { keepOn?: boolean } = {}) {
  const asked = askedOf(bench.simulation, more);
  const preview = await by.preview(asked);
  return { answer: by.start({ ...asked, waiver: waiverFor(preview) }, preview, lease) };
}

/** A run to its end; each question is handed to `answer`. */
async function runToEnd(
  open: Open,
  answer: (question: number) => void,
): Promise<{ outcome: RunOutcome; asked: string[] }> {
  const started = await (await begin(open)).answer;
  if (!isStarted(started)) throw new Error(`not started: ${JSON.stringify(started)}`);
  const asked: string[] = [];
  let ended = false;
  const outcome = open.by.client.next("outcome").then((message) => {
    ended = true;
    return message.outcome;
  });
  while (!ended) {
    const message = await Promise.race([open.by.client.next("question"), outcome.then(() => null)]);
    if (message?.question == null) continue;
    asked.push(`${message.question.asks} ${message.question.feed}`);
    answer(message.question.question);
  }
  return { outcome: await outcome, asked };
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
    const ended = await runToEnd(open, (question) => void open.by.answer(question, true, open.lease));
    return { ...ended, trip: ended.outcome.trip };
  });
  expect(outcome).toMatchObject({ ended: "as-planned", output: "off" });
  expect(asked).toEqual(["manual-on hand1", "manual-on hand2", "manual-off hand2", "manual-off hand1"]);
});

test("an answer given twice, as by a double click, is taken once and the run goes on", async () => {
  const open = await opened(["hand1"]);
  const second: Promise<unknown>[] = [];
  const { outcome } = await onceInTime(async () => {
    const ended = await runToEnd(open, (question) => {
      void open.by.answer(question, true, open.lease);
      second.push(open.by.answer(question, true, open.lease));
    });
    return { ...ended, trip: ended.outcome.trip };
  });
  expect(outcome).toMatchObject({ ended: "as-planned", output: "off" });
  for (const answer of await Promise.all(second))
    expect(answer).toMatchObject({ result: "refused", code: "no-question" });
});

test("a cut is taken by the bench's own word and then proved; one with the bench process killed is not said to be taken", async () => {
  const open = await opened();
  await onceInTime(async () => {
    const started = await (await begin(open, { keepOn: true })).answer;
    if (!isStarted(started)) throw new Error(`not started: ${JSON.stringify(started)}`);
    while ((await open.by.client.next("verdict")).verdict.run !== started.run);
    return { trip: isOn(open.bench.simulation) ? null : (await open.by.client.next("outcome")).outcome.trip };
  });
  expect(isOn(open.bench.simulation)).toBe(true);
  // What was said of the bench so far is of the process that is about to end.
  while (open.by.client.has("bench")) await open.by.client.next("bench");
  for (const pid of await benchProcessesOf(open.served.program)) process.kill(pid, "SIGKILL");
  expect(await open.by.cut()).toMatchObject({ result: "refused", code: "cut-not-taken" });
  // The guardian does what the cut could not.
  expect((await open.by.client.next("outcome")).outcome.output).toBe("off");
  expect(isOn(open.bench.simulation)).toBe(false);
  // Its successor is there after a while: a cut is taken again, and proved.
  let { bench: shown } = await open.by.client.next("bench");
  while (shown.instruments.length === 0 || !shown.instruments.every((each) => each.connected))
    ({ bench: shown } = await open.by.client.next("bench"));
  expect(await open.by.cut()).toEqual({ result: "done" });
  while ((await open.by.client.next("cut-proof")).output !== "off");
});
