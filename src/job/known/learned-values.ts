import type { StoredEvent } from "../../../shared/record/job.ts";
import { medianOf } from "../../analysis/quantile.ts";
import { univariateOf } from "../../analysis/univariate.ts";
import { currentEvents, eventsOf } from "../store/current-events.ts";
import type { JobStore } from "../store/job-store.ts";
import { runsOf } from "../store/runs-of.ts";
import { MOST_JOBS } from "./good-captures.ts";

/** The readings of good boards of a kind at a point; volts of a rail that is up, ohms and diode volts of a cold one. */
export interface LearnedValue {
  point: string;
  quantity: "volts" | "ohms" | "diodeVolts";
  /** The number of boards it rests on; each counts once, by its last reading. */
  boards: number;
  mean: number;
  median: number;
  least: number;
  most: number;
  /** Standard deviation between boards; null for one board. */
  stdDev: number | null;
}

/**
 * The readings of the boards of this kind that passed, point by point: of each job whose last result is `passed`, the readings
 * after its last repair. Information beside the board file's own values, never in their place. An open counts for nothing.
 */
export async function learnedValues(store: JobStore, boardName: string): Promise<LearnedValue[]> {
  const boards = new Map<string, Map<string, number>>();
  for (const job of (await store.everPassed(boardName, MOST_JOBS)).toReversed()) {
    const log = await store.events(job);
    if (!namesOf(log).has(boardName)) continue;
    const values = readingsOf(log);
    if (values === null) continue;
    const serial = eventsOf(log, "intake").findLast((each) => each.serialNumber !== undefined)?.serialNumber;
    boards.set(serial ?? job, values);
  }
  return summed([...boards.values()]);
}

function namesOf(log: readonly StoredEvent[]): Set<string | null | undefined> {
  return new Set([
    ...eventsOf(log, "opened").map((each) => each.board),
    ...eventsOf(log, "sweep-started").map((each) => each.board),
    ...runsOf(log).map(({ header }) => header.board?.name),
  ]);
}

/** The last value of each point and quantity of a board that passed; null where it did not. */
function readingsOf(log: readonly StoredEvent[]): Map<string, number> | null {
  const events = currentEvents(log).map((each) => each.event);
  const passed = events.findLastIndex((event) => event.kind === "result");
  const result = events[passed];
  if (result?.kind !== "result" || result.result !== "passed") return null;
  const before = events.slice(0, passed);
  const repaired = before.findLastIndex((event) => event.kind === "repair");
  const values = new Map<string, number>();
  const keep = (quantity: string, point: string, value: number | "open" | null | undefined): void => {
    if (typeof value === "number") values.set(`${quantity} ${point}`, value);
  };
  // A value that still moved is a bound, not what the board reads; the list a sweep ends with has it too.
  const moved = new Set<string>();
  for (const event of before.slice(repaired + 1)) {
    if (event.kind === "cold-readings") {
      for (const [point, ohms] of Object.entries(event.ohms))
        if (event.by === "hand" || !moved.has(point)) keep("ohms", point, ohms);
    }
    if (event.kind !== "sweep-rail") continue;
    const { rail, volts, ohms, diodeVolts, moving, mostOhms } = event.rail;
    if (moving !== "no" || mostOhms !== undefined) {
      moved.add(rail);
      continue;
    }
    moved.delete(rail);
    keep("volts", rail, volts);
    keep("ohms", rail, ohms);
    keep("diodeVolts", rail, diodeVolts);
  }
  return values;
}

function summed(boards: readonly ReadonlyMap<string, number>[]): LearnedValue[] {
  const all = new Map<string, number[]>();
  for (const values of boards) {
    for (const [key, value] of values) all.set(key, [...(all.get(key) ?? []), value]);
  }
  return [...all].map(([key, values]) => {
    const [quantity = "", ...point] = key.split(" ");
    return {
      point: point.join(" "),
      quantity: quantity as LearnedValue["quantity"],
      boards: values.length,
      mean: univariateOf(values).mean,
      median: medianOf(values),
      least: Math.min(...values),
      most: Math.max(...values),
      stdDev: values.length < 2 ? null : univariateOf(values).stdDev,
    };
  });
}
