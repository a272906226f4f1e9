import type { LinkJunk } from "./link.ts";

/** Longest line kept, bytes without its end (faults catalogue: start value, no source). */
const LONGEST_LINE_BYTES = 4096;
/** Longest gap inside a line, ms (start value, no source). */
export const STALL_MS = 100;

const NUL = 0x00;
const LF = 0x0a;
const CR = 0x0d;

/** The fate of an unfinished line. NUL never gets through, so NUL and one letter cannot be taken for a line's text. */
const MARKS = { H: "half-line", L: "too-long", S: "stalled", D: "discarded" } as const;
type Mark = keyof typeof MARKS;

/**
 * Makes any instrument's bytes fit for a splitter that knows one terminator and has no bounds: LF, CR and every run of
 * them come out as one LF, NUL is left out, and a line that is too long, stalled or cut off is ended with a mark and the
 * rest of it is dropped up to its end. Bytes go through as they come; nothing is held here. `readMarked` reads the lines.
 */
export class Framer {
  readonly #stallMs: number;
  #open = 0;
  #dropping = false;
  #lastByteAtMs = 0;

  constructor(options: { stallMs?: number } = {}) {
    this.#stallMs = options.stallMs ?? STALL_MS;
  }

  /** The bytes to split, for bytes that were seen at `atMs`. Finds a stall itself, also when no timer ran. */
  take(bytes: Uint8Array, atMs: number): Uint8Array {
    const stalled = this.checkStall(atMs);
    const marks = 1 + Math.ceil(bytes.length / LONGEST_LINE_BYTES);
    const out = new Uint8Array(stalled.length + bytes.length + 3 * marks);
    out.set(stalled);
    let length = stalled.length;
    for (const byte of bytes) {
      if (byte === NUL) continue;
      if (byte === LF || byte === CR) {
        if (this.#open > 0) out[length++] = LF;
        this.#open = 0;
        this.#dropping = false;
      } else if (!this.#dropping && this.#open === LONGEST_LINE_BYTES) {
        out.set(this.#endWith("L"), length);
        length += 3;
      } else if (!this.#dropping) {
        this.#open++;
        out[length++] = byte;
      }
    }
    if (bytes.length > 0) this.#lastByteAtMs = atMs;
    return out.subarray(0, length);
  }

  /** When the unfinished line becomes a stalled one, or undefined while there is none. */
  get stallsAtMs(): number | undefined {
    return this.#open > 0 ? this.#lastByteAtMs + this.#stallMs : undefined;
  }

  /** Ends the unfinished line as stalled when its time is up; otherwise no bytes. */
  checkStall(nowMs: number): Uint8Array {
    return this.stallsAtMs !== undefined && nowMs >= this.stallsAtMs ? this.#endWith("S") : new Uint8Array();
  }

  /** Ends the unfinished line because the link ended. */
  end(): Uint8Array {
    return this.#endWith("H");
  }

  /** Drops the unfinished line without a word, and what is still to come of it. */
  discard(): Uint8Array {
    return this.#endWith("D");
  }

  #endWith(mark: Mark): Uint8Array {
    if (this.#open === 0) return new Uint8Array();
    this.#open = 0;
    this.#dropping = true;
    return Uint8Array.of(NUL, mark.charCodeAt(0), LF);
  }
}

/** A line that came through a `Framer`: text, junk, or undefined for one that was discarded on purpose. */
export function readMarked(text: string): { line: string } | { junk: LinkJunk["why"]; text: string } | undefined {
  if (text.charCodeAt(text.length - 2) === NUL) {
    const why = MARKS[text.slice(-1) as Mark];
    return why === "discarded" ? undefined : { junk: why, text: text.slice(0, -2) };
  }
  return isText(text) ? { line: text } : { junk: "not-text", text };
}

/** Printable ASCII and the tab; a wrong baud rate and a byte received in error (0xFF) are seen by this. */
function isText(text: string): boolean {
  for (let at = 0; at < text.length; at++) {
    const code = text.charCodeAt(at);
    if (code !== 0x09 && (code < 0x20 || code > 0x7e)) return false;
  }
  return true;
}
