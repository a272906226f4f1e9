import type { DrawTrace } from "../../../shared/draw-input.ts";
import type { RecordedRun } from "../../../shared/record/recording.ts";
import { at } from "../../analysis/at.ts";

/** The recorder's trigger on the run's own time. */
export interface RecordedZero {
  atMs: number;
  /** k = 2. */
  expandedMs: number;
}

/**
 * When the recorder triggered, on the time of the readings: the supply's own readings of the trigger's feed pass the same level between
 * two of them, anywhere in between (a rectangle, JCGM 100:2008, 4.3.7). Null where the trigger is on no feed, or no two readings show it.
 */
export function recordedZero({ trigger, channels }: RecordedRun, traces: readonly DrawTrace[]): RecordedZero | null {
  const of = channels.find((each) => each.channel === trigger.channel)?.of;
  const trace = traces.find((each) => each.feed === of?.point);
  if (of === undefined || trace === undefined) return null;
  const values = of.reads === "volts" ? trace.volts : trace.amps;
  for (let i = 1; i < values.length; i++) {
    if (!(at(values, i - 1) < trigger.level && at(values, i) >= trigger.level)) continue;
    const [before, after] = [at(trace.atMs, i - 1), at(trace.atMs, i)];
    return { atMs: (before + after) / 2, expandedMs: (after - before) / Math.sqrt(3) };
  }
  return null;
}
