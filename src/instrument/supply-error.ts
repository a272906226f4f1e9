import { BenchError, type BenchErrorCode } from "../../shared/bench-error.ts";

/** The error of one supply; `what` says what came, what should have come, and what is now true of its output. */
export const supplyError = (supply: string, code: BenchErrorCode, what: string): BenchError =>
  new BenchError(code, `Cannot use supply "${supply}": ${what}`, { instrument: supply });
