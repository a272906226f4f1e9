import { BenchError } from "../../shared/bench-error.ts";
import type { IpcProblem } from "../../shared/ipc.ts";
import { messageOf } from "../../shared/words/message-of.ts";

/** Anything thrown as a problem for the daemon, with what is true of the output then. */
export function ipcProblem(cause: unknown, output: IpcProblem["output"]): IpcProblem {
  return {
    code: cause instanceof BenchError ? cause.code : "bad-message",
    message: messageOf(cause),
    instrument: cause instanceof BenchError ? (cause.instrument ?? null) : null,
    output,
  };
}
