import { captureCsvParts } from "../../capture/csv-capture.ts";
import { accuracyOf, foldRun } from "./run-fold.ts";
import type { StoredRun } from "./stored-run.ts";

/**
 * The readings of a run as CSV in parts, with the stage, set-point and limit of each, so that `classify` comes to the run's own verdict
 * (of a run so long that it was thinned while it lasted, to one on every reading).
 */
export function runCsvParts({ header, events }: StoredRun): Generator<string> {
  const { traces } = foldRun(header.plan, events, accuracyOf(header));
  return captureCsvParts(traces);
}
