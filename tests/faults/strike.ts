import type { RunOutcome } from "../../shared/plan.ts";
import { messageOf } from "../../shared/words/message-of.ts";
import { type Random, seededRandom } from "../../src/simulator/random.ts";
import { FaultBench, type Transport } from "./fault-bench.ts";
import type { FaultRow, Moment, Must } from "./fault-row.ts";
import { type Broken, brokenProperties } from "./four-properties.ts";

/** One fault, once. Times are the simulation's, ms from the fault. */
export interface Strike extends Broken {
  row: string;
  fault: string;
  moment: Moment;
  transport: Transport;
  seed: number;
  /** Whether anything was on when it struck. */
  wasOn: boolean;
  /** Until nothing was on at the instruments for the first time; 0 where nothing was, null where something still is. */
  offAfterMs: number | null;
  /** The last output off after the fault, where the run had gone on for a while. */
  lastOffAfterMs: number;
  alarmAfterMs: number | null;
  outcome: RunOutcome | null;
  refusedBecause: string | null;
  /** Outputs that came on after the fault. */
  onsAfter: number;
  published: number;
  must: Must;
}

const LONGEST_RUN_MS = 120_000;

/** Runs a power-up on a bench of its own, lets the fault strike at its moment, and answers with what came of it. */
export async function strike(row: FaultRow, moment: Moment, transport: Transport, seed: number): Promise<Strike> {
  const random = seededRandom(seed * 7919 + row.row.length);
  const dialects = row.dialects ?? ["numbered"];
  const bench = await FaultBench.start({
    transport,
    seed,
    dialect: dialects[seed % dialects.length] ?? "numbered",
    ...(row.scenario === undefined ? {} : { scenario: row.scenario }),
    ...(row.traits === undefined ? {} : { traits: row.traits }),
    ...(row.benchFile === undefined ? {} : { benchFile: row.benchFile }),
  });
  let struckMs = Number.NaN;
  let wasOn = false;
  let alarmMs: number | null = null;
  const hit = async (): Promise<void> => {
    struckMs = bench.clock.nowMs();
    wasOn = isOn(bench);
    await row.inject(bench, random, transport);
  };
  let refusedBecause: string | null = null;
  try {
    if (moment === "open") await hit();
    const prepared = await bench.prepare({ keepOn: moment === "holding", watchSeconds: 5 });
    if (moment === "idle") await hit();
    const isTime = trigger(bench, moment, random, row.spreadMs);
    let struck = !Number.isNaN(struckMs);
    const zeroMs = bench.clock.nowMs();
    let injecting: Promise<void> | undefined;
    await bench.run(prepared, () => {
      if (alarmMs === null && bench.alarms.length > 0) alarmMs = bench.clock.nowMs();
      if (!struck && isTime()) {
        struck = true;
        injecting = hit();
      }
      if (bench.clock.nowMs() - zeroMs > LONGEST_RUN_MS) throw new Error("the run does not end");
      // A hold has no end of its own; what nobody noticed for so long is not noticed.
      if (moment === "holding" && struck && bench.clock.nowMs() - struckMs > 8000) bench.stop();
    });
    await injecting;
  } catch (cause) {
    refusedBecause = messageOf(cause);
  }
  const outcome = bench.outcome ?? null;
  if (alarmMs === null && bench.alarms.length > 0) alarmMs = bench.clock.nowMs();
  // What the supply's own layers do takes its time.
  await bench.pass(2500);
  const broken = brokenProperties(bench);
  const after = switchingsAfter(bench, struckMs);
  const result: Strike = {
    row: row.row,
    fault: row.fault,
    moment,
    transport,
    seed,
    wasOn,
    offAfterMs: isOn(bench) ? null : firstOffAfter(bench, struckMs),
    lastOffAfterMs: Math.max(0, ...after.filter((each) => each.output === "off").map((each) => each.atMs - struckMs)),
    alarmAfterMs: alarmMs === null ? null : alarmMs - struckMs,
    outcome,
    refusedBecause,
    onsAfter: after.filter((each) => each.output === "on" && each.why === "command").length,
    published: bench.published.length,
    must: typeof row.expect === "function" ? row.expect(moment, transport) : row.expect,
    ...broken,
  };
  for (const each of Object.keys(bench.simulation.benchFile.instruments)) {
    bench.simulation.misbehave.stall(each, false);
    if (each !== "dmm") bench.simulation.misbehave.stayOn(each, false);
  }
  await bench.close();
  return result;
}

const isOn = (bench: FaultBench): boolean =>
  Object.values(bench.simulation.truth().feeds).some((each) => each.output === "on");

/** Counts what is on through all switchings, from the first of them. */
function firstOffAfter(bench: FaultBench, fromMs: number): number {
  const on = new Set<string>();
  const all = Object.entries(bench.simulation.truth().feeds)
    .flatMap(([feed, { switchings }]) => switchings.map((each) => ({ ...each, feed })))
    .toSorted((a, b) => a.atMs - b.atMs);
  let wasOnMs: number | undefined;
  for (const each of all) {
    // A switching in the very turn of the fault is its own.
    if (each.atMs > fromMs && on.size > 0) wasOnMs ??= fromMs;
    if (each.output === "on") on.add(each.feed);
    else on.delete(each.feed);
    if (each.atMs >= fromMs && on.size > 0) wasOnMs ??= each.atMs;
    if (each.atMs >= fromMs && on.size === 0 && wasOnMs !== undefined) return each.atMs - Math.max(fromMs, wasOnMs);
  }
  return 0;
}

const switchingsAfter = (bench: FaultBench, fromMs: number) =>
  Object.values(bench.simulation.truth().feeds)
    .flatMap((each) => each.switchings)
    .filter((each) => each.atMs >= fromMs);

/** What a strike missed of what must come of it; sentences, empty where all is well. */
export function missed(each: Strike): string[] {
  const { must, offAfterMs, alarmAfterMs, outcome, refusedBecause } = each;
  const said: string[] = [...each.wrongValues, ...each.unasked, ...each.unwatched];
  const want = (holds: boolean, what: string): void => {
    if (!holds) said.push(what);
  };
  const ended =
    outcome === null
      ? `refused: ${refusedBecause}`
      : `${outcome.ended}, ${outcome.output}: ${outcome.trip?.because ?? "no trip"}`;
  const offWithin = (ms: number): void =>
    want(
      offAfterMs !== null && offAfterMs <= ms,
      `off after ${offAfterMs} ms; at most ${ms} ms are allowed (${ended})`,
    );
  switch (must.must) {
    case "off":
      offWithin(must.withinMs);
      want(
        each.lastOffAfterMs <= must.withinMs,
        `came on again, and off after ${each.lastOffAfterMs} ms; at most ${must.withinMs} ms are allowed (${ended})`,
      );
      want(outcome?.ended !== "as-planned" || refusedBecause !== null, `ended as planned (${ended})`);
      break;
    case "survive":
      want(outcome?.ended === "as-planned" && outcome.output === "off", `should have ended as planned (${ended})`);
      break;
    case "refuse":
      want(each.onsAfter === 0, `came on ${each.onsAfter} times (${ended})`);
      want(refusedBecause !== null || outcome?.ended === "failed", `should have been refused (${ended})`);
      break;
    case "alarm":
      want(
        alarmAfterMs !== null && alarmAfterMs <= must.withinMs,
        `alarm after ${alarmAfterMs} ms; at most ${must.withinMs} ms (${ended})`,
      );
      want(outcome?.output === "unknown", `the outcome should say that the output is unknown (${ended})`);
      if (must.offWithinMs !== undefined) offWithin(must.offWithinMs);
      break;
    case "be-safe":
      want(offAfterMs !== null, `something is still on (${ended})`);
  }
  return said.map(
    (what) => `${each.row} (${each.fault}), ${each.transport}, ${each.moment}, seed ${each.seed}: ${what}`,
  );
}

/** Says, called again and again, when the moment has come: by the instrument's own outputs, some time after they came on. */
function trigger(bench: FaultBench, moment: Moment, random: Random, ownSpreadMs?: number): () => boolean {
  const { feed } = bench;
  const spreadMs =
    ownSpreadMs ?? { open: 0, idle: 0, clear: 60, touch: 80, rise: 90, watch: 2500, holding: 2000 }[moment];
  // An off is proved, and the next stage not yet begun, some 50 ms after it.
  const delayMs = (moment === "clear" ? 50 : 0) + spreadMs * random.next();
  const ons = { touch: 1, rise: 3 } as const;
  let sinceMs: number | undefined;
  const has = (): boolean => {
    const { switchings, output } = bench.simulation.truth().feeds[feed] ?? { switchings: [], output: "off" };
    const count = switchings.filter((each) => each.output === "on").length;
    if (moment === "touch" || moment === "rise") return count >= ons[moment] && output === "on";
    if (moment === "clear") return count >= 1 && output === "off";
    const { stage } = bench.where;
    return moment === "watch" ? stage === "watch" : bench.where.waitingFor.startsWith("a stop");
  };
  return () => {
    if (sinceMs === undefined && has()) sinceMs = bench.clock.nowMs();
    return sinceMs !== undefined && bench.clock.nowMs() - sinceMs >= delayMs;
  };
}
