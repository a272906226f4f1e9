import type { WireSetOnce } from "../../shared/files/set-once.ts";
import type { Permit } from "../../shared/permit.ts";
import type {
  OutputState,
  WireAlarm,
  WireBench,
  WireCycles,
  WireDown,
  WireJob,
  WireLogLine,
  WireQuestion,
  WireReading,
  WireRun,
  WireVerdict,
} from "../../shared/wire.ts";
import type { WireBoard } from "../../shared/wire-board.ts";
import type { WirePhone } from "../../shared/wire-phone.ts";
import { type SweepShown, sweepShown, withLine } from "./sweep-shown.ts";

/** The state of the page's connection to the daemon. Only in `live` is anything it shows the present. */
export type Phase = "connecting" | "live" | "lost" | "no-session" | "other-protocol";

export interface FeedState {
  output: OutputState;
  last: WireReading | null;
  /** Age of `last` when it was sent; null before the first reading. */
  ageMs: number | null;
  arrivedAtMs: number;
}

export type PhoneState = WirePhone & { arrivedAtMs: number };

/** Everything the page shows, a fold of what came; times are the page's own monotonic clock. */
export interface PageState {
  phase: Phase;
  /** Wall clock of the daemon's last word, once it is out of hearing. */
  lastHeardAt: string | null;
  /** The same by the page's own clock: what was counted stands still from then on. */
  lostAtMs: number | null;
  bench: WireBench | null;
  board: WireBoard | null;
  feeds: Record<string, FeedState>;
  lease: "you" | "other" | "nobody";
  mayOperate: boolean;
  /** The other page that is in control, by its name; null: none, or it is not known. */
  leaseOf: string | null;
  /** The page that asks this one for control. */
  leaseAskedBy: string | null;
  /** The page that offers this one the watch over what is on. */
  leaseOfferedBy: string | null;
  run: WireRun | null;
  runArrivedAtMs: number;
  permit: Permit | null;
  verdict: WireVerdict | null;
  question: WireQuestion | null;
  sweep: SweepShown | null;
  /** The series of starts that is on, or was last; null: none since the daemon began. */
  cycles: (WireCycles & { arrivedAtMs: number }) | null;
  alarm: WireAlarm | null;
  /** The settings for all commands; null until the daemon told them. */
  setOnce: WireSetOnce | null;
  /** Photographs by phone; null where this daemon takes none. */
  phone: PhoneState | null;
  log: WireLogLine[];
  jobs: WireJob[];
}

const MOST_LOG_LINES = 50;

export const emptyState: PageState = {
  phase: "connecting",
  lastHeardAt: null,
  lostAtMs: null,
  bench: null,
  board: null,
  feeds: {},
  lease: "nobody",
  mayOperate: false,
  leaseOf: null,
  leaseAskedBy: null,
  leaseOfferedBy: null,
  run: null,
  runArrivedAtMs: 0,
  permit: null,
  verdict: null,
  question: null,
  sweep: null,
  cycles: null,
  alarm: null,
  setOnce: null,
  phone: null,
  log: [],
  jobs: [],
};

/** The state after a message that arrived at `nowMs`. */
export function received(state: PageState, message: WireDown, nowMs: number): PageState {
  switch (message.type) {
    case "snapshot": {
      const { program: _, trace, sweep, cycles = null, ...rest } = message.snapshot;
      const feeds = Object.fromEntries(
        rest.bench.feeds.map((feed): [string, FeedState] => {
          const last = trace.find((each) => each.feed === feed.feed)?.readings.at(-1) ?? null;
          // A reading of a snapshot has no age: it is shown, but as stale until the first frame.
          return [feed.feed, { output: feed.output, last, ageMs: null, arrivedAtMs: nowMs }];
        }),
      );
      const shown = sweep === null ? null : sweepShown(sweep, nowMs);
      return {
        ...state,
        ...rest,
        sweep: shown,
        cycles: cycles === null ? null : { ...cycles, arrivedAtMs: nowMs },
        feeds,
        phase: "live",
        lastHeardAt: null,
        lostAtMs: null,
        runArrivedAtMs: nowMs,
      };
    }
    case "frame": {
      const feeds = { ...state.feeds };
      for (const { feed, output, ageMs, readings } of message.feeds) {
        feeds[feed] = { output, last: readings.at(-1) ?? feeds[feed]?.last ?? null, ageMs, arrivedAtMs: nowMs };
      }
      return { ...state, feeds };
    }
    case "bench": {
      // The bench's word on its outputs counts as much as a frame: without readings it is all there is.
      const feeds = Object.fromEntries(
        message.bench.feeds.map(({ feed, output }): [string, FeedState] => {
          const known = state.feeds[feed] ?? { last: null, ageMs: null, arrivedAtMs: nowMs };
          return [feed, { ...known, output }];
        }),
      );
      return { ...state, bench: message.bench, feeds };
    }
    case "board":
      return { ...state, board: message.board };
    case "lease":
      return {
        ...state,
        lease: message.holder,
        mayOperate: message.mayOperate,
        leaseOf: message.by ?? null,
        leaseAskedBy: message.holder === "you" ? state.leaseAskedBy : null,
        leaseOfferedBy: message.holder === "other" ? state.leaseOfferedBy : null,
      };
    case "lease-asked":
      return { ...state, leaseAskedBy: message.by };
    case "lease-offered":
      return { ...state, leaseOfferedBy: message.by };
    case "run-state": {
      const fresh = state.run?.run !== message.run.run;
      return { ...state, run: message.run, runArrivedAtMs: nowMs, verdict: fresh ? null : state.verdict };
    }
    case "trip":
      return state;
    case "outcome":
      return state.run?.run === message.run ? { ...state, run: { ...state.run, outcome: message.outcome } } : state;
    case "permit":
      return { ...state, permit: message.permit };
    case "verdict":
      return { ...state, verdict: message.verdict };
    case "question":
      return { ...state, question: message.question };
    case "cycles":
      return { ...state, cycles: { ...message.cycles, arrivedAtMs: nowMs } };
    case "sweep":
      return { ...state, sweep: sweepShown(message.sweep, nowMs) };
    case "sweep-line":
      return state.sweep?.sweep === message.sweep
        ? { ...state, sweep: withLine(state.sweep, message.line, nowMs) }
        : state;
    case "alarm":
      return { ...state, alarm: message.alarm };
    case "set-once":
      return { ...state, setOnce: message.set };
    case "phone":
      return { ...state, phone: { ...message.phone, arrivedAtMs: nowMs } };
    case "log":
      return { ...state, log: [...state.log, message.line].slice(-MOST_LOG_LINES) };
    case "jobs":
      return { ...state, jobs: message.jobs };
    case "cut-proof":
    case "job-changed":
    case "hello":
    case "beat":
    case "answer":
      return state;
  }
}

/** The state once the daemon is out of hearing: what is on is no longer known, and nobody has control. */
export function unheard(
  state: PageState,
  phase: Exclude<Phase, "live">,
  last: { heardAt: string; atMs: number } | null = null,
): PageState {
  const feeds = Object.fromEntries(
    Object.entries(state.feeds).map(([feed, each]): [string, FeedState] => [feed, { ...each, output: "unknown" }]),
  );
  const heard = {
    lastHeardAt: state.lastHeardAt ?? last?.heardAt ?? null,
    lostAtMs: state.lostAtMs ?? last?.atMs ?? null,
  };
  const nobody = { lease: "nobody", leaseOf: null, leaseAskedBy: null, leaseOfferedBy: null } as const;
  return { ...state, ...heard, ...nobody, phase, feeds, phone: null };
}

/** True where only figures differ: what is drawn of them needs no other part of the page. */
export function onlyFiguresDiffer(before: PageState, after: PageState): boolean {
  for (const key of Object.keys(after) as (keyof PageState)[])
    if (key !== "feeds" && before[key] !== after[key]) return false;
  const names = Object.keys(after.feeds);
  return (
    names.length === Object.keys(before.feeds).length &&
    names.every((feed) => before.feeds[feed]?.output === after.feeds[feed]?.output)
  );
}

/** Seconds until something that is off now is switched on again by itself; null where nothing will be. */
export function onAgainIn({ cycles, sweep }: PageState, nowMs: number): number | null {
  if (cycles !== null && cycles.result === null && cycles.restSeconds !== null)
    return Math.max(0, cycles.restSeconds - (nowMs - cycles.arrivedAtMs) / 1000);
  return sweep !== null && sweep.done === null && sweep.cooling !== null ? sweep.cooling.secondsLeft : null;
}

/** True while a series of starts goes on, also while everything is off between two. */
export const goesOn = ({ cycles }: PageState): boolean => cycles !== null && cycles.result === null;

/** True while an output is on, not known to be off, or a run goes on. */
export function mayBeOn(state: PageState): boolean {
  const running = state.run !== null && state.run.outcome === null;
  return (
    running || state.alarm !== null || goesOn(state) || Object.values(state.feeds).some((feed) => feed.output !== "off")
  );
}

/** True while the daemon wants somebody in control: a run or a series goes on, or an output is on or may be. */
export function needsWatch(state: PageState): boolean {
  const running = state.run !== null && state.run.outcome === null;
  const sweeping = state.sweep !== null && state.sweep.done === null && !state.sweep.cold;
  const on = Object.values(state.feeds).some((feed) => feed.output === "on");
  return running || sweeping || on || state.alarm !== null || goesOn(state);
}
