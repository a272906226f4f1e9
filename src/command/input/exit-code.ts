import { BenchError } from "../../../shared/bench-error.ts";
import type { RunOutcome } from "../../../shared/plan.ts";

/** The exit codes of the commands (`--help` of each says so). */
export const EXIT = {
  asPlanned: 0,
  /** Failed; the output was confirmed off. */
  failed: 1,
  /** Bad input; nothing was touched. */
  badInput: 2,
  /** Stopped early because of the board; the output was confirmed off. */
  boardStopped: 3,
  /** The output could not be confirmed off. */
  outputUnknown: 4,
  /** No instrument answered; nothing was energised. */
  nothingAnswered: 5,
} as const;

/** The exit code an error stands for, where nothing was energised when it came. */
export function exitCodeOf(cause: unknown): number {
  if (!(cause instanceof BenchError)) return EXIT.failed;
  if (cause.detail["output"] === "unknown") return EXIT.outputUnknown;
  switch (cause.code) {
    case "bad-input":
    case "unknown-driver":
    case "two-drivers":
    case "bad-address":
    case "wrong-identity":
    case "data-not-writable":
    case "data-in-use":
    case "disk-full":
      return EXIT.badInput;
    case "no-such-port":
    case "no-permission":
    case "port-in-use":
    case "connection-refused":
    case "link-closed":
    case "no-reply":
    case "bad-reply":
    case "suspect-link":
      return EXIT.nothingAnswered;
    case "output-unknown":
      return EXIT.outputUnknown;
    default:
      return EXIT.failed;
  }
}

/**
 * The exit code of a run that ended. One that was held on after its verdict ends as planned when a person or the longest
 * on-time ends it.
 */
export function exitCodeOfOutcome(outcome: RunOutcome, wasHeld = false): number {
  if (outcome.output === "unknown") return EXIT.outputUnknown;
  if (outcome.ended === "board-stopped") return EXIT.boardStopped;
  const endsHolding = outcome.ended === "stopped-by-person" || outcome.trip?.rule === "on-time";
  return outcome.ended === "as-planned" || (wasHeld && endsHolding) ? EXIT.asPlanned : EXIT.failed;
}
