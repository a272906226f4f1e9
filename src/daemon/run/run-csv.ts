import { captureCsvParts } from "../../capture/csv-capture.ts";
import { accuracyOf, foldRun, type TimeWindow } from "./run-fold.ts";
import type { OpenRun } from "./stored-run.ts";

/**
 * The readings of a run, or of a part of it, as CSV in parts, with the stage, set-point and limit of each, so that `classify` comes to
 * the run's own verdict (of a run so long that it was thinned while it lasted, to one on every reading). Null where that part has none.
 */
export function runCsvParts({ header, events }: OpenRun, window: TimeWindow | null = null): Generator<string> | null {
  const { traces } = foldRun(header.plan, events(), accuracyOf(header), window);
  return window !== null && traces.length === 0 ? null : captureCsvParts(traces);
}
