import { afterAll, afterEach, beforeAll, expect, test, vi } from "vitest";
import type { WireAnswer, WireRun } from "../../shared/wire.ts";
import type { TaskWish } from "../../shared/wire-request.ts";
import { isOn, type PoweredBench, poweredBench, timesOn, untilTrue } from "./powered-bench.ts";
import { endPrograms } from "./run-program.ts";
import { askedOf, isStarted, onceInTime, type Script, type Served, serveProgram, waiverFor } from "./served-bench.ts";

// Runs in real time are done again on a machine that is too busy for them.
vi.setConfig({ testTimeout: 180_000 });

let bench: PoweredBench;
let served: Served;
let by: Script;
let lease: number;
beforeAll(async () => {
  bench = await poweredBench({ scenario: "single-feed" });
  const { path } = bench.folder;
  served = await serveProgram(["--bench", `${path}/bench.json`, "--board", `${path}/board.json`], `${path}/data`);
  by = await served.script();
  lease = await by.takeLease();
});
afterAll(async () => {
  by.client.socket.terminate();
  await endPrograms();
  await bench.close();
});
afterEach(async () => {
  await by.cut();
  await expect.poll(() => isOn(bench.simulation)).toBe(false);
});

/** Previews, waives what was not done, starts what `task` asks for. */
async function begin(task: TaskWish | null, more: { keepOn?: boolean } = {}): Promise<WireAnswer> {
  const asked = askedOf(bench.simulation, { ...more, ...(task === null ? {} : { task }) });
  const preview = await by.preview(asked);
  return await by.start({ ...asked, waiver: waiverFor(preview) }, preview, lease);
}

/** The run as it stands once it is over. */
async function over(answer: WireAnswer): Promise<WireRun> {
  if (!isStarted(answer)) throw new Error(`not started: ${JSON.stringify(answer)}`);
  for (;;) {
    const { run } = await by.client.next("run-state");
    if (run.run === answer.run && run.outcome !== null) return run;
  }
}

const done = (task: TaskWish) =>
  onceInTime(async () => {
    const run = await over(await begin(task));
    return { run, trip: run.outcome?.trip ?? null };
  });

test("a soak is held as long as it was asked for, and says how each current drifted", async () => {
  const { run } = await done({ task: "soak", minutes: 0.05 });
  expect(run.outcome).toMatchObject({ ended: "as-planned", output: "off" });
  expect(run.told?.[0]).toMatch(/^Held 3 s of 3 s$/);
  expect(run.told?.[1]).toContain("in12: from");
});

test("a margin run steps the feed within its tolerance, and is never held on", async () => {
  expect(await begin({ task: "margin", steps: 3 }, { keepOn: true }).catch(String)).toMatch(
    /always ends with the output off|no preview/,
  );
  const { run } = await done({ task: "margin", steps: 3 });
  expect(run.outcome).toMatchObject({ ended: "as-planned", output: "off" });
  // Three set-points and what they say together.
  expect(run.told).toHaveLength(4);
  expect(run.told?.[0]).not.toContain("1v8");
});

test("a margin run reads the rail under the probe at each step, and refuses one that the board file does not name", async () => {
  const asked = (rail: string) => askedOf(bench.simulation, { task: { task: "margin", steps: 3, rail } });
  await expect(by.preview(asked("nope"))).rejects.toThrow(/is not a rail of .*nothing was touched/);
  expect((await by.preview(asked("1v8"))).does?.[1]).toBe("The meter reads 1v8 at each step; keep its probe there.");
  const none = await by.preview(askedOf(bench.simulation, { task: { task: "margin" } }));
  expect(none.does?.[1]).toMatch(/^No rail is read meanwhile: none was chosen for the probe\./);
  const { rails: _, coldPairs: __, ...bare } = bench.simulation.boardFile ?? { version: 1, name: "bare", feeds: {} };
  const empty = await by.preview({
    ...askedOf(bench.simulation, { task: { task: "margin" }, coldOhms: { in12: 9_800 } }),
    board: JSON.stringify(bare),
  });
  expect(empty.does?.[1]).toMatch(/^No rail is read meanwhile: the board file names none\./);
  bench.simulation.probe("1v8");
  const { run } = await done({ task: "margin", steps: 3, rail: "1v8" });
  bench.simulation.probe(null);
  for (const step of run.told?.slice(0, 3) ?? []) expect(step).toMatch(/, 1v8 1\.8\d* V \(pass\)$/);
});

test("a permit that was shown for a power-up starts no injection", async () => {
  const asked = askedOf(bench.simulation);
  const preview = await by.preview(asked);
  const injection = { task: "inject" as const, rail: "in12", feed: "in12", side: "none" as const };
  const before = timesOn(bench.simulation);
  const answer = await by.start({ ...asked, task: injection, waiver: waiverFor(preview) }, preview, lease);
  expect(answer).toMatchObject({ result: "refused", code: "other-permit" });
  expect(timesOn(bench.simulation)).toBe(before);
});

test("a series of starts goes off and on by itself, starts nothing else meanwhile, and a stop between two ends it", async () => {
  const before = timesOn(bench.simulation);
  const started = await begin({ task: "cycle", warm: 3, warmOff: 1 });
  expect(isStarted(started)).toBe(true);
  for (;;) {
    const { cycles } = await by.client.next("cycles");
    if (cycles.restSeconds === null || cycles.cycles.length < 2) continue;
    expect(cycles.cycles.map((each) => each.start)).toEqual(["warm", "warm"]);
    break;
  }
  expect(isOn(bench.simulation)).toBe(false);
  await expect(by.preview(askedOf(bench.simulation))).rejects.toThrow(/series of starts/);
  await by.stop();
  let told = (await by.client.next("cycles")).cycles;
  while (told.result === null) told = (await by.client.next("cycles")).cycles;
  expect(told.result).toContain("stopped by");
  expect(told.cycles).toHaveLength(2);
  const switched = timesOn(bench.simulation) - before;
  // Each start has its touch, its low volts and its rise; none began after the stop.
  await by.preview(askedOf(bench.simulation));
  expect(timesOn(bench.simulation) - before).toBe(switched);
});

test("control is not given up while a series goes on, not even while everything is off between two starts", async () => {
  expect(isStarted(await begin({ task: "cycle", warm: 3, warmOff: 1 }))).toBe(true);
  while ((await by.client.next("cycles")).cycles.restSeconds === null);
  by.client.send({ type: "release-lease", id: "hand-back", lease });
  expect(await by.client.answerTo("hand-back")).toMatchObject({ result: "refused", code: "still-on" });
  await by.stop();
  let told = (await by.client.next("cycles")).cycles;
  while (told.result === null) told = (await by.client.next("cycles")).cycles;
  await expect
    .poll(async () => {
      by.client.send({ type: "release-lease", id: `back-${performance.now()}`.replace(".", "-"), lease });
      return (await by.client.next("answer")).answer.result;
    })
    .toBe("done");
  lease = await by.takeLease();
});

test("a held board goes over to another page that takes the watch, and is cut when that one closes", async () => {
  const other = await served.script();
  expect(isStarted(await begin(null, { keepOn: true }))).toBe(true);
  await untilTrue(() => isOn(bench.simulation));
  other.client.send({ type: "ask-lease", id: "ask" });
  await by.client.next("lease-asked");
  by.client.send({ type: "hand-over", id: "give", lease, yes: true });
  await other.client.next("lease-offered");
  other.client.send({ type: "accept-lease", id: "take", yes: true });
  expect(await other.client.answerTo("ask")).toMatchObject({ result: "lease" });
  expect(isOn(bench.simulation)).toBe(true);
  await expect.poll(async () => (await by.client.next("log")).line.text).toMatch(/in control from now on/);
  other.client.socket.terminate();
  await untilTrue(() => !isOn(bench.simulation));
  await expect.poll(() => by.takeLease().catch(() => null)).not.toBeNull();
  lease = await by.takeLease();
  // The end of the run is filed a little after everything is off.
  await expect.poll(() => by.preview(askedOf(bench.simulation)).then(Boolean, () => false)).toBe(true);
});

test("while leads are nulled nothing is started, and tips that do not meet are no null", async () => {
  const [nulled, start] = await Promise.all([by.nullLeads(lease), begin(null).catch(String)]);
  expect(nulled).toMatchObject({ result: "refused" });
  expect(String(start)).toContain("being prepared");
});
