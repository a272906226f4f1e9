import type { PreparedRun } from "./prepare-run.ts";

/** How soon this bench can cut, in a sentence: its instruments' round trips, measured just now, and its processes' scheduling. */
export function readinessInWords({ instruments, scheduling }: PreparedRun): string {
  const answers = instruments
    .filter((each) => each.kind === "supply")
    .map(({ name, roundTrip: { p99Ms, count } }) =>
      p99Ms === null ? `${name} not measured` : `${name} within ${p99Ms.toFixed(1)} ms (p99 of ${count})`,
    );
  const first = `answers: ${answers.length === 0 ? "no supply" : answers.join(", ")}`;
  return scheduling === null ? first : `${first}; the process that cuts runs at ${scheduling}`;
}
