import type { InjectLevel, MarginStep, Plan, RunOutcome, StageName, StageSetting, Trip } from "../../../shared/plan.ts";
import { othersNth } from "../compile/close-interval.ts";
import type { CreepTrack } from "./creep-track.ts";
import { limitedWithin, type TrackedFeed } from "./feed-track.ts";
import type { InjectTrack } from "./inject-track.ts";
import type { LevelTrack } from "./level-track.ts";
import { plannedFeed, supplyFeeds } from "./plan-feeds.ts";

/** The finding of the first look below 1 V on a clean feed; `ohms` null: more than the meter can see. */
export interface TouchFinding {
  ohms: number | null;
  seesShortsBelowOhms: number;
  joules: number;
}

/** A feed's volts while its output is off; `leastVolts` is the least since it went off, `atMs` the last reading's query. */
export interface OffVolts {
  volts: number;
  leastVolts: number;
  atMs: number;
}

/** The part that is carried from state to state. Never changed by a tick that decides nothing. */
export interface Ledger {
  /** By which rules the run is judged; 1 for records from before the rules of `begin` were numbered. */
  rules: 1 | 2 | 3;
  /** Time of the last event that was not a tick. */
  atMs: number;
  stage: StageName;
  /** The furthest stage so far. */
  reached: StageName;
  /** Feeds with a supply, in order. */
  feeds: readonly string[];
  /** The limit each feed gets at nominal now; raised by the ladder only. */
  limits: Readonly<Record<string, number>>;
  raises: number;
  touched: Readonly<Record<string, TouchFinding>>;
  offVolts: Readonly<Record<string, OffVolts>>;
  /** Volts of each feed that was on, the last time it was: what is left on it may be our own charge, and no more than that. */
  appliedVolts: Readonly<Record<string, number>>;
  /** When the first feed went to nominal in this rise. */
  nominalSinceMs: number | null;
  limitToTry: RunOutcome["limitToTry"];
  /** Trips a person answered with a raise. */
  pastTrips: readonly Trip[];
  steps: readonly MarginStep[];
  /** Levels of an injection; the last one is still under way while it lasts. */
  levels: readonly InjectLevel[];
  /** The number of questions asked so far; where one waits for its answer, it is the last of them. */
  questions: number;
  /** A person ended the run in order before it was done. */
  endedEarly: boolean;
  note: string | null;
}

/** A feed through which current may flow. */
export interface LiveFeed extends TrackedFeed {
  feed: string;
  /** Switched by a person; cannot be cut from here. */
  manual: boolean;
  /** Off has been asked for. */
  leaving: boolean;
}

/**
 * The purpose for which the next feed is energised. `index` counts the feeds with a supply in touch and hold-low, and all feeds, those
 * switched by hand too, in the rise.
 */
export type Target =
  | { stage: "touch"; index: number }
  | { stage: "hold-low"; index: number }
  | { stage: "rise"; index: number }
  | { stage: "inject"; index: number };

/** Amps and volts the first look settled at, for the two-limit test. */
export interface LookPoint {
  volts: number;
  amps: number;
  limited: boolean;
}

export type SafeStep =
  /** Waiting for every feed to be read under the residual voltage. */
  | {
      step: "clear";
      target: Target;
      sinceMs: number;
      /** The first and the newest reading of each feed since then, volts. */
      first: Readonly<Record<string, number>>;
      seen: Readonly<Record<string, number>>;
      windowFromMs: number;
      windowVolts: number | null;
    }
  | { step: "configure"; target: Target; feed: string; setting: StageSetting; sinceMs: number }
  | { step: "ask-raise"; feed: string; toAmps: number; trip: Trip; sinceMs: number }
  /** The level of an injection is over and everything off: waiting for a person's word on the next. */
  | { step: "ask-level"; feed: string; toAmps: number; sinceMs: number }
  | { step: "cool"; sinceMs: number; untilMs: number }
  | { step: "ask-manual-on"; feed: string; index: number; sinceMs: number };

export type LiveStep =
  | { step: "switch-on"; feed: string; target: Target; sinceMs: number }
  | {
      step: "look";
      feed: string;
      target: Target;
      sinceMs: number;
      points: readonly LookPoint[];
      rest: readonly number[];
    }
  | {
      step: "relimit";
      feed: string;
      target: Target;
      sinceMs: number;
      setting: StageSetting;
      points: readonly LookPoint[];
      rest: readonly number[];
    }
  | { step: "hold"; feed: string; target: Target; sinceMs: number }
  | { step: "climb"; feed: string; target: Target; sinceMs: number }
  /** A feed is up, or a person's answer is there: each feed that is on is read once more before the next, `index`, comes on. */
  | { step: "read-anew"; feed: string; index: number; sinceMs: number }
  | { step: "ask-manual-on"; feed: string; index: number; sinceMs: number }
  | { step: "watch"; sinceMs: number; guard: Guard; creep: CreepTracks }
  /** The watch is over and the outputs stay on, watched. */
  | { step: "holding"; sinceMs: number; creep: CreepTracks }
  /** Other volts are on their way to the supply. */
  | {
      step: "set-volts";
      feed: string;
      index: number;
      sinceMs: number;
      setting: StageSetting;
      overCurrentOn: boolean;
    }
  | { step: "level"; feed: string; index: number; sinceMs: number; overCurrentOn: boolean; track: LevelTrack }
  | { step: "inject"; feed: string; target: Target; sinceMs: number; track: InjectTrack }
  /** `watched`: what is known of those still on from the watch before; null where there was none. */
  | { step: "switch-off"; feed: string; target: Target | "end"; sinceMs: number; watched: Watched | null }
  | { step: "ask-manual-off"; feed: string; sinceMs: number };

/** The slow climb of each feed's current, by feed. */
export type CreepTracks = Readonly<Record<string, CreepTrack>>;

/** Since when the draw has been watched at nominal, and what was seen of each feed. */
export interface Watched {
  sinceMs: number;
  creep: CreepTracks;
}

/** Over-current protections armed at the start of the watch: waiting for one to be read back, and those still to come. */
export interface Guard {
  waiting: { feed: string; sinceMs: number } | null;
  rest: readonly string[];
}

export type Energised = {
  kind: "energised";
  ledger: Ledger;
  /** Never empty: what makes this the state in which current may flow. */
  energised: readonly [LiveFeed, ...LiveFeed[]];
  step: LiveStep;
};

export type Safe = { kind: "safe"; ledger: Ledger; step: SafeStep };

/**
 * An output went off by itself: all were cut, and its supply is being asked whether a protection or a hand did it. Nothing
 * can be switched on from here.
 */
export type AskingWhy = {
  kind: "asking-why";
  ledger: Ledger;
  feed: string;
  sinceMs: number;
  /** The word of the proof of the cut; null while it is under way. */
  output: "off" | "unknown" | null;
  manual: readonly string[];
};

/** The cut has been asked for and is not proved yet; then a raise may be asked, or a person be asked to switch by hand. */
export type Cutting = {
  kind: "cutting";
  ledger: Ledger;
  trip: Trip | null;
  ended: RunOutcome["ended"];
  sinceMs: number;
  raise: { feed: string; fromAmps: number; toAmps: number } | null;
  output: "off" | "unknown" | null;
  /** Feeds a person has still to switch off. */
  manual: readonly string[];
};

export type Ended = {
  kind: "ended";
  ledger: Ledger;
  trip: Trip | null;
  ended: RunOutcome["ended"];
  output: "off" | "unknown";
};

/**
 * The run was asked for: its guardian is being armed and its supplies are being made ready. Nothing can be switched on
 * from here.
 */
export type Preparing = { kind: "preparing"; ledger: Ledger };

/** The state of a run, from its request on. Only `energised` has feeds that are on by intent. */
export type PlanState = Preparing | Safe | Energised | AskingWhy | Cutting | Ended;

/** The state before `begin`. */
export function initialState(plan: Plan): PlanState {
  const feeds = supplyFeeds(plan).map((each) => each.feed);
  return {
    kind: "preparing",
    ledger: {
      rules: 1,
      atMs: 0,
      stage: "check",
      reached: "check",
      feeds,
      limits: Object.fromEntries(feeds.map((feed) => [feed, plannedFeed(plan, feed)?.nominal.limitAmps ?? 0])),
      raises: 0,
      touched: {},
      offVolts: {},
      appliedVolts: {},
      nominalSinceMs: null,
      limitToTry: null,
      pastTrips: [],
      steps: [],
      levels: [],
      questions: 0,
      endedEarly: false,
      note: null,
    },
  };
}

/** Feeds through which current may flow by what the machine asked for; empty in every other state. */
export const energisedFeeds = (state: PlanState): string[] =>
  state.kind === "energised" ? state.energised.map((each) => each.feed) : [];

/**
 * Whose readings the machine wants now, and how often: 1 each round, n each nth. Feeds that are off are watched for
 * back-feed at a lower rate; so are those that are up while another comes up or meets its limit, since a start that loops
 * is told by how often that one is read. Empty before the run begins and after it ended.
 */
export function wantedReadings(plan: Plan, state: PlanState): { feed: string; everyNth: number }[] {
  if (state.kind === "preparing" || state.kind === "ended") return [];
  const feeds = supplyFeeds(plan).map((each) => each.feed);
  if (state.kind !== "energised") return feeds.map((feed) => ({ feed, everyNth: 1 }));
  const on = new Set(energisedFeeds(state));
  const closely = closelyRead(state);
  const others = state.step.step === "look" || state.step.step === "hold" ? 2 : 4;
  return supplyFeeds(plan).map(({ feed, roundMs = 0 }) => {
    if (!on.has(feed)) return { feed, everyNth: others };
    return { feed, everyNth: closely.length === 0 || closely.includes(feed) ? 1 : othersNth(roundMs) };
  });
}

/** Feeds that come up now or were in their limit within the last second; none while all that is on is read anew. */
export function closelyRead({ step, energised, ledger }: Energised): string[] {
  if (step.step === "read-anew") return [];
  const comesUp = step.step === "climb" || (step.step === "switch-on" && step.target.stage === "rise");
  return energised
    .filter(({ feed, track }) => (comesUp && step.feed === feed) || limitedWithin(track, ledger.atMs))
    .map((each) => each.feed);
}
