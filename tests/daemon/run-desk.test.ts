import { mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterEach, expect, test } from "vitest";
import type { WireAnswer, WireCommand, WireDown } from "../../shared/wire.ts";
import type { RunRequest } from "../../shared/wire-request.ts";
import { RunDesk } from "../../src/daemon/page/run-desk.ts";
import { type DataFolder, openDataFolder } from "../../src/daemon/process/data-folder.ts";
import { makeReport } from "../../src/job/report/make-report.ts";
import { beginSweep } from "../../src/sweep/begin-sweep.ts";
import { realClock } from "../../src/system/real-clock.ts";
import { BENCH, ScriptedBench } from "./scripted-bench.ts";

const REQUEST: RunRequest = {
  board: null,
  coldOhms: {},
  conditions: {
    host: "none",
    fans: "off",
    cooler: "bare",
    polarityChecked: true,
    commonReturn: true,
    sidebandStrapped: true,
    pairsUnplugged: true,
  },
  waiver: null,
  watchSeconds: 5,
  keepOn: false,
  job: null,
};
const PARTY = { role: "operator", session: "s" } as const;

let bench: ScriptedBench;
let data: DataFolder;
let directory: string;
let desk: RunDesk;
const heard: WireDown[] = [];
afterEach(async () => {
  await desk.close();
  await data.close();
  await bench.remove();
  await rm(directory, { recursive: true, force: true });
  heard.length = 0;
});

async function opened(script: string): Promise<void> {
  bench = await ScriptedBench.write(script);
  directory = await mkdtemp(join(tmpdir(), "firstamp-desk-"));
  data = await openDataFolder(directory);
  desk = new RunDesk({
    data,
    bench: BENCH,
    drivers: [],
    board: null,
    boardFile: null,
    simulated: true,
    beginSweep,
    clock: realClock,
    benchProgram: bench.program,
  });
  desk.subscribe((message) => heard.push(message));
}

const ask = (command: DistributiveOmit<WireCommand, "id" | "lease" | "deadlineMs">): Promise<WireAnswer> =>
  desk.command({ ...command, id: "x", lease: 1, deadlineMs: Number.MAX_SAFE_INTEGER } as WireCommand, PARTY);
type DistributiveOmit<T, K extends PropertyKey> = T extends unknown ? Omit<T, K> : never;

/** The run under way, its every condition waived. */
async function begun(): Promise<WireAnswer> {
  const shown = await ask({ type: "preview", request: REQUEST });
  if (shown.result !== "preview") throw new Error(JSON.stringify(shown));
  const items = shown.preview.permit.items.filter((each) => each.state !== "holds").map((each) => each.id);
  const request = { ...REQUEST, waiver: { reason: "a scripted bench", items } };
  const again = await ask({ type: "preview", request });
  if (again.result !== "preview") throw new Error(JSON.stringify(again));
  const confirmed = again.preview.feeds.map(({ feed, volts, limitAmps }) => ({ feed, volts, limitAmps }));
  const answer = await ask({ type: "start-run", request, cautionsRead: true, confirmed });
  if (answer.result === "refused" && answer.code !== "cut") throw new Error(JSON.stringify(answer));
  return answer;
}

/** The next message that fits, or one that came already. */
async function message(fits: (message: WireDown) => boolean): Promise<WireDown> {
  const known = heard.find(fits);
  if (known !== undefined) return known;
  return new Promise((resolve) => {
    const stop = desk.subscribe((came) => {
      if (!fits(came)) return;
      stop();
      resolve(came);
    });
  });
}
const questions = (): (number | null)[] =>
  heard.flatMap((each) => (each.type === "question" ? [each.question?.question ?? null] : []));
const asked = (number: number) => message((each) => each.type === "question" && each.question?.question === number);
const said = (): string[] => heard.flatMap((each) => (each.type === "log" ? [each.line.text] : []));

test("a question that comes before the answer to the one before is done stays on every page", async () => {
  await opened(`
    on.run = (message) => { done(message); question(1); };
    on.answer = (message) => { if (message.question === 1) question(2); done(message); };
  `);
  expect(await begun()).toMatchObject({ result: "started" });
  await asked(1);
  expect(await ask({ type: "answer", question: 1, yes: true })).toEqual({ result: "done" });
  expect(desk.snapshot().question?.question).toBe(2);
  expect(questions().filter((each) => each !== null)).toEqual([1, 2]);
});

test("a double click on an answer reaches the bench once; the second is told that nothing was done", async () => {
  await opened(`
    on.run = (message) => { done(message); question(1); };
    on.answer = (message) => { tell("answered " + count.answer); done(message); };
  `);
  await begun();
  await asked(1);
  const [first, second] = await Promise.all([
    ask({ type: "answer", question: 1, yes: true }),
    ask({ type: "answer", question: 1, yes: true }),
  ]);
  expect(first).toEqual({ result: "done" });
  expect(second).toMatchObject({ result: "refused", code: "no-question" });
  // A cut behind it on the same pipe: what the second answer would have said has come by then.
  await ask({ type: "cut" });
  expect(said().filter((each) => each.startsWith("answered"))).toEqual(["answered 1"]);
});

test("an answer that the bench refuses is asked again", async () => {
  await opened(`
    on.run = (message) => { done(message); question(1); };
    on.answer = ({ id }) => send({ type: "problem", id, problem: { code: "write-late", message: "too late", instrument: null, output: "untouched" } });
  `);
  await begun();
  await asked(1);
  expect(await ask({ type: "answer", question: 1, yes: true })).toMatchObject({ result: "refused" });
  expect(desk.snapshot().question?.question).toBe(1);
});

test("a stop while a run is prepared ends it: the start is refused and the bench is never told to run", async () => {
  // The start's own connect, the third, is answered only when the stop has come.
  await opened(`
    const connected = on.connect; let held;
    on.connect = (message) => { if (count.connect === 3) { held = message; tell("preparing"); } else connected(message); };
    on.stop = (message) => { done(message); connected(held); };
    on.run = (message) => { tell("told to run"); done(message); };
  `);
  const start = begun();
  await message((each) => each.type === "log" && each.line.text === "preparing");
  expect(await ask({ type: "stop" })).toEqual({ result: "done" });
  expect(await start).toMatchObject({ result: "refused", code: "cut" });
  await ask({ type: "cut" });
  expect(said()).not.toContain("told to run");
});

test("a start whose page is gone while it is prepared does not begin", async () => {
  await opened(`on.run = (message) => { tell("told to run"); done(message); };`);
  const shown = await ask({ type: "preview", request: REQUEST });
  if (shown.result !== "preview") throw new Error(JSON.stringify(shown));
  const items = shown.preview.permit.items.filter((each) => each.state !== "holds").map((each) => each.id);
  const request = { ...REQUEST, keepOn: true, waiver: { reason: "a scripted bench", items } };
  const again = await ask({ type: "preview", request });
  if (again.result !== "preview") throw new Error(JSON.stringify(again));
  const confirmed = again.preview.feeds.map(({ feed, volts, limitAmps }) => ({ feed, volts, limitAmps }));
  const start = ask({ type: "start-run", request, cautionsRead: true, confirmed });
  desk.operatorGone();
  expect(await start).toMatchObject({ result: "refused", code: "cut" });
  await ask({ type: "cut" });
  expect(said()).not.toContain("told to run");
});

test("a cut is done by the bench's word alone; without it the supply's own switch is named", async () => {
  await opened("on.cut = (message) => { if (count.cut === 1) done(message); };");
  await ask({ type: "preview", request: REQUEST });
  expect(await ask({ type: "cut" })).toEqual({ result: "done" });
  expect(await ask({ type: "cut" })).toMatchObject({
    result: "refused",
    code: "cut-not-taken",
    because: expect.stringContaining("its own switch"),
  });
});

test("a cut with the bench process killed in the same moment is not said to be taken", async () => {
  await opened(`on.cut = () => process.kill(process.pid, "SIGKILL");`);
  await ask({ type: "preview", request: REQUEST });
  expect(await ask({ type: "cut" })).toMatchObject({ result: "refused", code: "cut-not-taken" });
});

test("the proof of a cut goes to every page, and the outputs are then shown off", async () => {
  await opened(
    `on.cut = (message) => { done(message); send({ type: "cut-proof", id: message.id, output: "off", because: "psu: off" }); };`,
  );
  await ask({ type: "preview", request: REQUEST });
  await ask({ type: "cut" });
  await message((each) => each.type === "cut-proof" && each.output === "off");
  expect(desk.snapshot().bench.feeds.map((each) => each.output)).toEqual(["off"]);
});

test("a run that the bench ended has no verdict: not on the page, not in the record; one sentence says what to do", async () => {
  await opened(`
    on.run = (message) => {
      done(message);
      const progress = { stage: "touch", feed: "aux", waitingFor: "readings", sinceMs: 0, expectedMs: 300, energised: ["aux"], question: null };
      send({ type: "events", run: 1, events: [{ event: "begin", atMs: 0 }, { event: "tick", atMs: 20 }], progress });
      const trip = { rule: "stale", feed: "aux", stage: "touch", atMs: 20, board: false, because: "aux was last read 506 ms ago" };
      const outcome = { ended: "failed", trip, output: "off", limitToTry: null, raises: 0, reachedStage: "touch" };
      send({ type: "ended", run: 1, outcome, roundTrip: {} });
    };
  `);
  expect(await begun()).toMatchObject({ result: "started" });
  const ended = await message((each) => each.type === "outcome");
  expect(ended).toMatchObject({ outcome: { ended: "failed", endedBy: "bench" } });
  await message((each) => each.type === "job-changed");
  expect(heard.filter((each) => each.type === "verdict")).toEqual([]);
  expect(desk.snapshot().verdict).toBeNull();
  const [job] = await data.store.list();
  const ends = (await data.store.events(job?.job ?? "")).flatMap(({ event }) =>
    event.kind === "run-ended" ? [event.end] : [],
  );
  expect(ends).toMatchObject([{ verdict: null, outcome: { endedBy: "bench" } }]);
  const report = await makeReport(data.store, job?.job ?? "");
  expect(report).not.toContain("As found");
  expect(report).toContain("Nothing was learned about the board; close other programs");
});
