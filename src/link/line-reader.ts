import { ReadlineParser } from "@serialport/parser-readline";
import type { Clock } from "../../shared/clock.ts";
import { Framer, readMarked } from "./framer.ts";
import type { LinkJunk, LinkLine } from "./link.ts";

export interface LineReaderOptions {
  clock: Clock;
  /** Longest gap inside a line, ms; 100 by default. */
  stallMs?: number;
  onLine(line: LinkLine): void;
  onJunk(junk: LinkJunk): void;
}

/**
 * Bytes to lines. The splitting is the readline parser's; by itself it would know one terminator, keep a CR, hold a line
 * of any length and hand out half a line at the end, so a `Framer` stands before it. One turn after it was made, a line
 * is handed on in the same turn as its last byte.
 */
export class LineReader {
  readonly #clock: Clock;
  readonly #framer: Framer;
  readonly #parser = new ReadlineParser({ delimiter: "\n", encoding: "latin1" });
  #cancelStall: (() => void) | undefined;
  #atMs = 0;

  constructor(options: LineReaderOptions) {
    this.#clock = options.clock;
    this.#framer = new Framer(options.stallMs === undefined ? {} : { stallMs: options.stallMs });
    this.#parser.on("data", (text: string) => {
      const read = readMarked(text);
      if (read === undefined) return;
      if ("line" in read) options.onLine({ text: read.line, atMs: this.#atMs });
      else options.onJunk({ why: read.junk, text: read.text, atMs: this.#atMs });
    });
  }

  push(bytes: Uint8Array): void {
    this.#atMs = this.#clock.nowMs();
    this.#split(this.#framer.take(bytes, this.#atMs));
    this.#watchStall();
  }

  /** The link ended: half a line is junk, and no timer is left. */
  end(): void {
    this.#cancelStall?.();
    this.#atMs = this.#clock.nowMs();
    this.#split(this.#framer.end());
  }

  discard(): void {
    this.#split(this.#framer.discard());
  }

  #split(bytes: Uint8Array): void {
    if (bytes.length > 0) this.#parser.write(bytes);
  }

  #watchStall(): void {
    const atMs = this.#framer.stallsAtMs;
    if (atMs === undefined || this.#cancelStall !== undefined) return;
    this.#cancelStall = this.#clock.after(atMs - this.#clock.nowMs(), () => {
      this.#cancelStall = undefined;
      this.#atMs = this.#clock.nowMs();
      this.#split(this.#framer.checkStall(this.#atMs));
      this.#watchStall();
    });
  }
}
