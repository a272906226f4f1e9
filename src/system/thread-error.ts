import { BenchError, type BenchErrorCode } from "../../shared/bench-error.ts";
import { messageOf } from "../../shared/words/message-of.ts";

/** An error as it passes between threads: a copy that is made of an error itself keeps neither its class nor its code. */
export interface ThreadError {
  message: string;
  /** The operating system's or SQLite's name of it; null where it has none. */
  code: string | null;
  /** Set for a BenchError. */
  bench: { code: BenchErrorCode; detail: Record<string, unknown> } | null;
}

export function threadError(cause: unknown): ThreadError {
  const message = messageOf(cause);
  if (cause instanceof BenchError) return { message, code: null, bench: { code: cause.code, detail: cause.detail } };
  const code = cause instanceof Error && "code" in cause && typeof cause.code === "string" ? cause.code : null;
  return { message, code, bench: null };
}

/** The error that `threadError` was made of, with its class and its code. */
export function errorOfThread({ message, code, bench }: ThreadError): Error {
  if (bench !== null) return new BenchError(bench.code, message, { detail: bench.detail });
  return Object.assign(new Error(message), code === null ? {} : { code });
}
