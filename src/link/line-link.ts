import { BenchError, quoted } from "../../shared/bench-error.ts";
import type { Clock } from "../../shared/clock.ts";
import { messageOf } from "../../shared/words/message-of.ts";
import { LineReader } from "./line-reader.ts";
import type { Link, LinkClosed, LinkJunk, LinkLine } from "./link.ts";
import { within } from "./within.ts";

/** The duties of a connection towards its link; it reports by `received`, `messageEnded` and `lost`. */
export interface Wire {
  /** Hands bytes to the system in this turn; throws when it takes none. */
  send(bytes: Buffer, expectsReply: boolean): void;
  /** Drops questions that were not handed over yet and their answers, where the wire has such. */
  discard?(): void;
  /** Gives the connection back. Called once. */
  shut(): Promise<void>;
}

/** Longest a close may take before it is left to itself, ms. */
const CLOSE_WITHIN_MS = 1000;

let connections = 0;

/** A `Link` over any wire: lines, counters, one close, and no write after it. */
export class LineLink implements Link {
  readonly address: string;
  readonly connection = ++connections;
  readonly counters = { bytesWritten: 0, bytesRead: 0, junk: 0 };
  readonly #clock: Clock;
  readonly #wire: Wire;
  readonly #reader: LineReader;
  readonly #onLine: ((line: LinkLine) => void)[] = [];
  readonly #onJunk: ((junk: LinkJunk) => void)[] = [];
  #onClose: ((closed: LinkClosed) => void)[] = [];
  #diverted: ((bytes: Uint8Array | null) => void) | null = null;
  #closed: LinkClosed | undefined;
  #announced = false;
  #shut: Promise<void> = Promise.resolve();

  constructor(options: { address: string; clock: Clock; wire: Wire; stallMs?: number }) {
    this.address = options.address;
    this.#clock = options.clock;
    this.#wire = options.wire;
    this.#reader = new LineReader({
      clock: options.clock,
      ...(options.stallMs === undefined ? {} : { stallMs: options.stallMs }),
      onLine: (line) => {
        for (const listener of this.#onLine) listener(line);
      },
      onJunk: (junk) => {
        this.counters.junk++;
        for (const listener of this.#onJunk) listener(junk);
      },
    });
  }

  get isOpen(): boolean {
    return this.#closed === undefined;
  }

  write(text: string, options: { expectsReply?: boolean } = {}): void {
    if (this.#closed !== undefined) {
      throw new BenchError(
        "link-closed",
        `Cannot write ${quoted(text)} to ${this.address}: the link is closed (${this.#closed.detail}); nothing was sent`,
      );
    }
    const bytes = Buffer.from(text, "latin1");
    if (bytes.toString("latin1") !== text) {
      throw new BenchError(
        "bad-input",
        `Cannot write ${quoted(text)} to ${this.address}: it contains characters that are not Latin-1; nothing was sent`,
      );
    }
    try {
      this.#wire.send(bytes, options.expectsReply ?? false);
    } catch (cause) {
      const detail = messageOf(cause);
      this.lost({ why: "write-failed", detail });
      throw new BenchError(
        "link-closed",
        `Cannot write ${quoted(text)} to ${this.address}: ${detail}; it should be accepted at once; it is unknown how much of it was sent`,
        { cause },
      );
    }
    this.counters.bytesWritten += bytes.length;
  }

  onLine(listener: (line: LinkLine) => void): void {
    this.#onLine.push(listener);
  }

  onJunk(listener: (junk: LinkJunk) => void): void {
    this.#onJunk.push(listener);
  }

  onClose(listener: (closed: LinkClosed) => void): void {
    if (this.#closed !== undefined && this.#announced) listener(this.#closed);
    else this.#onClose.push(listener);
  }

  divert(take: ((bytes: Uint8Array | null) => void) | null): void {
    this.#diverted = take;
  }

  discardInput(): void {
    if (!this.isOpen) return;
    this.#reader.discard();
    this.#wire.discard?.();
  }

  close(): Promise<void> {
    this.lost({ why: "asked", detail: "closed by this program" });
    return this.#shut;
  }

  /** The wire says that bytes came. */
  received(bytes: Uint8Array): void {
    if (!this.isOpen) return;
    this.counters.bytesRead += bytes.length;
    if (this.#diverted === null) this.#reader.push(bytes);
    else this.#diverted(bytes);
  }

  /** The wire says that a message ended here, whether or not a terminator came with it. */
  messageEnded(): void {
    if (!this.isOpen) return;
    if (this.#diverted === null) this.#reader.push(Uint8Array.of(0x0a));
    else this.#diverted(null);
  }

  /** The wire says that it is gone; only the first reason counts. */
  lost(closed: LinkClosed): void {
    if (this.#closed !== undefined) return;
    this.#closed = closed;
    // Not in this turn's call: a write that fails must not run its caller's close listener before it has thrown.
    queueMicrotask(() => {
      this.#reader.end();
      this.#announced = true;
      for (const listener of this.#onClose.splice(0)) listener(closed);
    });
    this.#shut = within(this.#clock, CLOSE_WITHIN_MS, this.#wire.shut().catch(ignoreFailedClose), () => undefined);
  }
}

/** A connection that cannot be closed is gone for us anyway. */
const ignoreFailedClose = () => undefined;
