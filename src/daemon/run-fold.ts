import type { Accuracy } from "../../shared/bench-file.ts";
import type { BoardFile } from "../../shared/board-file.ts";
import type { DrawInput, DrawTrace } from "../../shared/draw-input.ts";
import type { RunConditions } from "../../shared/permit.ts";
import { type Plan, type PlanEvent, type RunOutcome, StageName } from "../../shared/plan.ts";
import { ampsOf, voltsOf } from "../../shared/reading.ts";
import type { RunHeader } from "../../shared/run-record.ts";
import { advance } from "../plan/advance.ts";
import { describeState } from "../plan/describe-state.ts";
import { initialState, type PlanState } from "../plan/machine-state.ts";
import { outcomeOf } from "../plan/outcome.ts";

const MODE_CODE = { unknown: 0, cv: 1, cc: 2 } as const;

interface Columns {
  atMs: number[];
  volts: number[];
  amps: number[];
  mode: number[];
  setVolts: number[];
  limitAmps: number[];
  stage: number[];
  together: boolean;
  modeKnown: boolean;
}

export interface RunFold {
  outcome: RunOutcome;
  traces: DrawTrace[];
}

const emptyColumns = (): Columns => ({
  atMs: [],
  volts: [],
  amps: [],
  mode: [],
  setVolts: [],
  limitAmps: [],
  stage: [],
  together: true,
  modeKnown: false,
});

/**
 * Folds the events of a run once more: the outcome the machine comes to, and each feed's readings with the stage, the
 * set-point and the limit they were taken at (0 V and 0 A while its output is off). Folding a stored record gives what
 * the live run gave.
 */
export function foldRun(plan: Plan, events: Iterable<PlanEvent>, accuracy: (feed: string) => Accuracy | null): RunFold {
  let state = initialState(plan);
  const columns = new Map<string, Columns>();
  const set = new Map<string, { volts: number; amps: number }>();
  const on = new Set<string>();
  for (const event of events) {
    // A reading belongs to the stage that asked for it, not to the one it leads to.
    const { stage } = describeState(plan, state);
    if (event.event === "configured") set.set(event.feed, { volts: event.setVolts, amps: event.limitAmps });
    else if (event.event === "output") {
      if (event.state === "on") on.add(event.feed);
      else on.delete(event.feed);
    } else if (event.event === "cut-done" && event.output === "off") on.clear();
    else if (event.event === "reading") {
      const { reading } = event;
      const column = columns.get(reading.feed) ?? emptyColumns();
      columns.set(reading.feed, column);
      column.atMs.push(reading.atMs);
      column.volts.push(voltsOf(reading) ?? Number.NaN);
      column.amps.push(ampsOf(reading) ?? Number.NaN);
      column.mode.push(MODE_CODE[reading.mode]);
      column.setVolts.push(on.has(reading.feed) ? (set.get(reading.feed)?.volts ?? 0) : 0);
      column.limitAmps.push(on.has(reading.feed) ? limitOf(state, reading.feed, set) : 0);
      column.stage.push(StageName.options.indexOf(stage));
      column.together &&= reading.together;
      column.modeKnown ||= reading.mode !== "unknown";
    }
    state = advance(plan, state, event).state;
  }
  const traces = plan.feeds.flatMap((feed): DrawTrace[] => {
    const column = columns.get(feed.feed);
    if (column === undefined) return [];
    return [
      {
        feed: feed.feed,
        atMs: Float64Array.from(column.atMs),
        volts: Float64Array.from(column.volts),
        amps: Float64Array.from(column.amps),
        mode: column.modeKnown ? Uint8Array.from(column.mode) : null,
        setVolts: Float64Array.from(column.setVolts),
        limitAmps: Float64Array.from(column.limitAmps),
        stage: Uint8Array.from(column.stage),
        together: column.together,
        leadOhms: feed.leadOhms,
        stepVolts: feed.stepVolts,
        stepAmps: feed.stepAmps,
        accuracy: accuracy(feed.feed),
      },
    ];
  });
  return { outcome: outcomeOf(state), traces };
}

/** The limit in force; while a new one is on its way to the supply nobody knows which of the two it is. */
function limitOf(state: PlanState, feed: string, set: ReadonlyMap<string, { amps: number }>): number {
  const changing = state.kind === "energised" && state.step.step === "relimit" && state.step.feed === feed;
  return changing ? Number.NaN : (set.get(feed)?.amps ?? 0);
}

/** The accuracy of each feed's read-back as the run's header states it; null where it does not. */
export const accuracyOf =
  (header: RunHeader) =>
  (feed: string): Accuracy | null => {
    const supply = header.plan.feeds.find((each) => each.feed === feed)?.supply;
    return header.instruments.find((each) => each.name === supply)?.accuracy ?? null;
  };

export const drawInput = (traces: DrawTrace[], board: BoardFile | null, conditions: RunConditions): DrawInput => ({
  traces,
  board,
  conditions: { host: conditions.host, fans: conditions.fans },
  limitAmps: null,
});
