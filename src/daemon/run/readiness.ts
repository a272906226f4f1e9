import { quoted } from "../../../shared/bench-error.ts";
import type { PreparedRun } from "./prepare-run.ts";

/** Which driver each instrument is spoken to by, in a sentence, with the file of one that did not come with the program. */
export function driversInWords({ instruments }: Pick<PreparedRun, "instruments">): string {
  const each = instruments.map(
    ({ name, driver, driverFile }) =>
      `${name} by ${driver} (${driverFile === undefined ? "it comes with the program" : `your own, ${quoted(driverFile)}`})`,
  );
  return `drivers: ${each.length === 0 ? "none" : each.join(", ")}`;
}

/** The speed with which this bench can cut, in a sentence: its instruments' round trips, measured just now, and its processes' scheduling. */
export function readinessInWords({ instruments, scheduling }: PreparedRun): string {
  const answers = instruments
    .filter((each) => each.kind === "supply")
    .map(({ name, roundTrip: { p99Ms, count } }) =>
      p99Ms === null ? `${name} not measured yet` : `${name} within ${p99Ms.toFixed(1)} ms (p99 of ${count})`,
    );
  const first = `answers: ${answers.length === 0 ? "no supply" : answers.join(", ")}`;
  return scheduling === null ? first : `${first}; the process that cuts runs at ${scheduling}`;
}
