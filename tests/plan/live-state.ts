import type { Plan, StageName } from "../../shared/plan.ts";
import { freshCreep, withAmps } from "../../src/plan/machine/creep-track.ts";
import { FRESH_TRACK, type Sample, withSample } from "../../src/plan/machine/feed-track.ts";
import { type Energised, initialState, type LiveFeed, type LiveStep } from "../../src/plan/machine/machine-state.ts";
import { plannedFeed } from "../../src/plan/machine/plan-feeds.ts";

export interface Reading {
  atMs: number;
  volts: number;
  amps: number;
  limiting?: boolean;
}

const sample = ({ atMs, volts, amps, limiting = false }: Reading): Sample => ({
  queriedAtMs: atMs - 1,
  atMs,
  volts,
  amps,
  limiting,
  inferred: false,
});

/** A feed of the plan that is on since 0, with these readings behind it. */
export function liveFeed(
  plan: Plan,
  feed: string,
  readings: readonly Reading[],
  stage: "touch" | "hold-low" | "nominal" = "nominal",
): LiveFeed {
  const planned = plannedFeed(plan, feed);
  if (planned === undefined) throw new Error(`no feed ${feed}`);
  const setting =
    stage === "touch" ? planned.touch : stage === "hold-low" ? (planned.holdLow ?? planned.touch) : planned.nominal;
  let live: LiveFeed = { feed, manual: false, setting, askedMs: 0, onMs: 0, leaving: false, track: FRESH_TRACK };
  for (const each of readings) live = { ...live, track: withSample(planned, live, sample(each)) };
  return live;
}

/** A state with these feeds on, in this stage and step, nominal since 0. */
export function liveState(
  plan: Plan,
  stage: StageName,
  step: LiveStep,
  live: readonly [LiveFeed, ...LiveFeed[]],
): Energised {
  return {
    kind: "energised",
    ledger: { ...initialState(plan).ledger, stage, nominalSinceMs: 0 },
    energised: live,
    step,
  };
}

/** The watch, one reading a second of one feed's current behind it. */
export function watchOf(feed: string, amps: readonly number[], stepAmps = 0.001): LiveStep {
  let track = freshCreep(0);
  for (const [second, each] of amps.entries()) {
    for (const part of [0, 0.5]) track = withAmps(track, each, 1000 * (second + part), stepAmps);
  }
  return { step: "watch", sinceMs: 0, guard: { waiting: null, rest: [] }, creep: { [feed]: track } };
}

export const CLIMB: LiveStep = { step: "climb", feed: "aux", target: { stage: "rise", index: 2 }, sinceMs: 0 };
export const HOLD: LiveStep = { step: "hold", feed: "aux", target: { stage: "hold-low", index: 2 }, sinceMs: 0 };
