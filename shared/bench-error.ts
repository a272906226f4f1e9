/** The kind of promise that was broken; `docs/errors.md` has a paragraph for each. */
export type BenchErrorCode =
  // what a person wrote
  | "bad-input" // a file, option or value that is not what it should be
  | "unknown-driver"
  | "two-drivers" // two drivers both claim one identity
  | "bad-address"
  // the machine
  | "data-not-writable"
  | "data-in-use"
  | "disk-full"
  // links
  | "no-such-port"
  | "no-permission"
  | "port-in-use"
  | "connection-refused"
  | "link-closed"
  | "write-late"
  // instruments
  | "no-reply" // nothing came within the time
  | "bad-reply" // something came that is no answer to the question
  | "wrong-identity"
  | "suspect-link" // a fence did not hold
  | "setting-refused" // the error queue or the read-back says no
  | "output-unknown" // an output that could not be shown to be off
  // processes
  | "bench-process-lost"
  | "bad-message";

export interface BenchErrorOptions {
  instrument?: string;
  detail?: Record<string, unknown>;
  cause?: unknown;
}

/**
 * A broken promise. The message says what was tried, on what, what came, what should have come, and what is now true
 * of the output. Expected outcomes (a trip, an overload, "cannot tell") are data, never this.
 */
export class BenchError extends Error {
  readonly code: BenchErrorCode;
  readonly instrument: string | undefined;
  readonly detail: Record<string, unknown>;

  constructor(code: BenchErrorCode, message: string, options: BenchErrorOptions = {}) {
    super(message, options.cause === undefined ? undefined : { cause: options.cause });
    this.name = "BenchError";
    this.code = code;
    this.instrument = options.instrument;
    this.detail = options.detail ?? {};
  }
}

/** Quotes bytes from a wire for a sentence: control characters escaped, cut at 80 characters. */
export function quoted(text: string): string {
  const cut = text.length > 80 ? `${text.slice(0, 80)}…` : text;
  return JSON.stringify(cut).replace(/[\u007f-\u009f]/g, (c) => `\\u${c.charCodeAt(0).toString(16).padStart(4, "0")}`);
}
