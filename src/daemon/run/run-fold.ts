import type { DrawInput, DrawMark, DrawTrace } from "../../../shared/draw-input.ts";
import type { Accuracy } from "../../../shared/files/bench-file.ts";
import type { Plan, PlanEvent, RunOutcome, StageName } from "../../../shared/plan.ts";
import { ampsOf, type FeedReading, voltsOf } from "../../../shared/reading.ts";
import type { RunHeader } from "../../../shared/record/run-record.ts";
import { TraceColumns } from "../../capture/trace-columns.ts";
import { advance } from "../../plan/machine/advance.ts";
import { describeState } from "../../plan/machine/describe-state.ts";
import { initialState, type PlanState } from "../../plan/machine/machine-state.ts";
import { outcomeOf } from "../../plan/machine/outcome.ts";

export interface RunFold {
  outcome: RunOutcome;
  marks: readonly DrawMark[];
  traces: DrawTrace[];
}

/** A part of a run, both ends included, milliseconds since it began. */
export interface TimeWindow {
  fromMs: number;
  toMs: number;
}

/**
 * Readings of a feed that a run under way keeps for its verdict; of more, level stretches are thinned, in about a beat of the
 * daemon. Half a minute of the fastest instruments; the record has every reading in any case.
 */
export const LIVE_ROWS = 1 << 15;

/**
 * Folds the events of a run as they come: the outcome the machine comes to, and each feed's readings with the stage, the
 * set-point and the limit they were taken at (0 V and 0 A while its output is off).
 */
export class RunFolding {
  readonly #plan: Plan;
  readonly #columns = new Map<string, TraceColumns>();
  readonly #mostRows: number;
  readonly #window: TimeWindow | null;
  readonly #set = new Map<string, { volts: number; amps: number }>();
  readonly #on = new Set<string>();
  #state: PlanState;
  #atMs: number | null = null;
  readonly #marks: DrawMark[] = [];

  /** `mostRows`: see `TraceColumns`; the record has every reading in any case. `window`: only its readings become rows. */
  constructor(plan: Plan, mostRows = Number.POSITIVE_INFINITY, window: TimeWindow | null = null) {
    this.#plan = plan;
    this.#mostRows = mostRows;
    this.#window = window;
    this.#state = initialState(plan);
  }

  take(event: PlanEvent): void {
    this.#atMs = event.atMs;
    if (event.event === "mark") this.#marks.push({ atMs: event.atMs, text: event.text, state: event.state });
    // A reading belongs to the stage that asked for it, not to the one it leads to.
    if (event.event === "reading") this.#add(event.reading, describeState(this.#plan, this.#state).stage);
    else if (event.event === "configured") this.#set.set(event.feed, { volts: event.setVolts, amps: event.limitAmps });
    else if (event.event === "output") {
      if (event.state === "on") this.#on.add(event.feed);
      else this.#on.delete(event.feed);
    } else if (event.event === "cut-done" && event.output === "off") this.#on.clear();
    this.#state = advance(this.#plan, this.#state, event).state;
  }

  /** Time of the last event, milliseconds since the run began; null before the first. */
  get atMs(): number | null {
    return this.#atMs;
  }

  /** The actions that a person reported, in order. */
  get marks(): readonly DrawMark[] {
    return this.#marks;
  }

  get outcome(): RunOutcome {
    return outcomeOf(this.#state);
  }

  traces(accuracy: (feed: string) => Accuracy | null): DrawTrace[] {
    return this.#plan.feeds.flatMap((feed): DrawTrace[] => {
      const column = this.#columns.get(feed.feed);
      if (column === undefined) return [];
      const { together } = column.constants;
      const { leadOhms, leadExpandedOhms, stepVolts, stepAmps } = feed;
      column.constants = {
        ...{ together, leadOhms, stepVolts, stepAmps, accuracy: accuracy(feed.feed) },
        ...(leadExpandedOhms === undefined ? {} : { leadExpandedOhms }),
      };
      return [{ ...column.trace(), ...(feed.ganged === undefined ? {} : { ganged: feed.ganged }) }];
    });
  }

  #add(reading: FeedReading, stage: StageName): void {
    if (this.#window !== null && (reading.atMs < this.#window.fromMs || reading.atMs > this.#window.toMs)) return;
    const column = this.#columns.get(reading.feed) ?? new TraceColumns(reading.feed, this.#mostRows);
    this.#columns.set(reading.feed, column);
    const set = this.#on.has(reading.feed) ? this.#set.get(reading.feed) : undefined;
    column.push({
      atMs: reading.atMs,
      volts: voltsOf(reading) ?? Number.NaN,
      amps: ampsOf(reading) ?? Number.NaN,
      mode: reading.mode,
      setVolts: set?.volts ?? 0,
      limitAmps: set === undefined ? 0 : this.#isChanging(reading.feed) ? Number.NaN : set.amps,
      stage,
    });
    if (!reading.together) column.constants = { ...column.constants, together: false };
  }

  /** While a new limit is on its way to the supply nobody knows which of the two is in force. */
  #isChanging(feed: string): boolean {
    const state = this.#state;
    return state.kind === "energised" && state.step.step === "relimit" && state.step.feed === feed;
  }
}

/** Folds a whole record, with the rows of a window of it; folding a stored one gives what the live run gave. */
export function foldRun(
  plan: Plan,
  events: Iterable<PlanEvent>,
  accuracy: (feed: string) => Accuracy | null,
  window: TimeWindow | null = null,
): RunFold {
  const folding = new RunFolding(plan, Number.POSITIVE_INFINITY, window);
  for (const event of events) folding.take(event);
  return { outcome: folding.outcome, marks: folding.marks, traces: folding.traces(accuracy) };
}

/** The accuracy of each feed's read-back as the run's header states it; null where it does not. */
export const accuracyOf =
  (header: RunHeader) =>
  (feed: string): Accuracy | null => {
    const supply = header.plan.feeds.find((each) => each.feed === feed)?.supply;
    return header.instruments.find((each) => each.name === supply)?.accuracy ?? null;
  };

/** The inputs of the verdict of a run: its readings, what cut it, and what is known of the board. */
export const drawInput = (
  {
    traces,
    outcome,
    marks = [],
  }: { traces: DrawTrace[]; outcome: Pick<RunOutcome, "trip">; marks?: readonly DrawMark[] },
  { board, conditions, baseline, shop }: Pick<RunHeader, "board" | "conditions" | "baseline" | "shop">,
): DrawInput => ({
  traces,
  board,
  conditions: { host: conditions.host, fans: conditions.fans },
  limitAmps: null,
  trip: outcome.trip,
  ...(marks.length === 0 ? {} : { marks }),
  baseline: baseline ?? null,
  shop: shop ?? null,
});
