import { BenchError } from "../../shared/bench-error.ts";

/** What a command ends with (`--help` of each says so). */
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
    case "data-not-writable":
    case "data-in-use":
    case "disk-full":
      return EXIT.badInput;
    case "no-such-port":
    case "no-permission":
    case "port-in-use":
    case "connection-refused":
    case "no-reply":
      return EXIT.nothingAnswered;
    case "output-unknown":
      return EXIT.outputUnknown;
    default:
      return EXIT.failed;
  }
}
