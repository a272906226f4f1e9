import { BenchError, type BenchErrorCode, quoted } from "../../shared/bench-error.ts";
import { type Clock, pause } from "../../shared/clock.ts";
import type { Link, LinkClosed, LinkJunk, LinkLine } from "../link/link.ts";

/** The driver's settings for the wire. */
export interface SessionWire {
  terminator: string;
  gapMs: number;
  /** Undefined: not known yet. */
  echo: boolean | undefined;
  /** The longest time an answer may take while nothing is energised. */
  replyMs: number;
}

/** An answer, with when its question was written and when it was complete, by the clock handed in. */
export interface Answer {
  text: string;
  sentAtMs: number;
  atMs: number;
}

export interface ExchangeOptions {
  /** The instrument's name, for sentences. */
  name: string;
  link: Link;
  clock: Clock;
  wire: Readonly<SessionWire>;
  /** Something came that makes later answers doubtful. */
  onSuspect: (because: string) => void;
  onUnexpected: () => void;
  onClosed: (closed: LinkClosed) => void;
}

interface Pending {
  text: string;
  sentAtMs: number;
  echoIsDue: boolean;
  /** True for a command to an echoing instrument: its echo is all that is waited for. */
  endsAtEcho: boolean;
  resolve: (answer: Answer) => void;
  reject: (error: BenchError) => void;
  cancelTimer: () => void;
}

/** The question every instrument answers with who it is (IEEE 488.2, 10.14). */
export const IDENTITY_QUERY = "*IDN?";

/**
 * Questions and answers on one connection, from its opening to its end: one question outstanding, echoes recognised,
 * every wait with a deadline, every line nobody asked for reported. What is suspect is decided by the session.
 */
export class Exchange {
  readonly link: Link;
  /** The last bytes that were no line of text; for the sentence when nobody answers. */
  heardJunk = "";
  readonly #options: ExchangeOptions;
  readonly #clock: Clock;
  #pending: Pending | undefined;
  #collecting: { take: (line: LinkLine) => void; end: (answer: undefined) => void } | undefined;
  #lastByteMs = Number.NEGATIVE_INFINITY;
  #isFresh = true;
  /** Answers to `*IDN?` that are no longer waited for and may still come, and what they will say. */
  #stale = { text: "", count: 0 };
  /** Identity answers due from before the present fence: what was asked in between is answered after them. */
  #ofEarlierFence = 0;

  constructor(options: ExchangeOptions) {
    this.#options = options;
    this.#clock = options.clock;
    this.link = options.link;
    options.link.onLine((line) => this.#line(line));
    options.link.onJunk((junk) => this.#junk(junk));
    options.link.onClose((closed) => options.onClosed(closed));
  }

  /** True until something was asked: no late answer can come on a connection nothing was asked on. */
  get isFresh(): boolean {
    return this.#isFresh;
  }

  get hasOutstanding(): boolean {
    return this.#pending !== undefined || this.#collecting !== undefined;
  }

  /** Waits until the pause this instrument needs between messages is over. */
  async gap(): Promise<void> {
    const { gapMs } = this.#options.wire;
    const restMs = this.#lastByteMs + gapMs - this.#clock.nowMs();
    if (gapMs > 0 && restMs > 0) await this.pause(restMs);
  }

  pause(ms: number): Promise<void> {
    return pause(this.#clock, ms);
  }

  /** Writes in this same turn; throws BenchError "link-closed". */
  write(text: string, expectsReply: boolean): void {
    this.link.write(text + this.#options.wire.terminator, { expectsReply });
    if (expectsReply) this.#isFresh = false;
    this.#lastByteMs = this.#clock.nowMs();
  }

  /** Writes `text` after a terminator, so that a half-written line before it cannot swallow it; false where it is closed. */
  writeAcross(text: string): boolean {
    try {
      this.write(this.#options.wire.terminator + text, false);
      return true;
    } catch {
      return false;
    }
  }

  /** Asks and waits; with `endsAtEcho`, a command whose echo is its acknowledgement. Throws "no-reply" or "bad-reply". */
  ask(text: string, options: { timeoutMs: number; endsAtEcho: boolean; consequence: string }): Promise<Answer> {
    return new Promise((resolve, reject) => {
      const cancelTimer = this.#clock.after(options.timeoutMs, () => {
        if (this.#pending !== pending) return;
        this.#pending = undefined;
        const what = `no reply within ${Math.round(options.timeoutMs)} ms to ${quoted(text)}`;
        this.#options.onSuspect(what);
        reject(this.#error("no-reply", `${what}${options.consequence}`));
      });
      const pending: Pending = {
        text,
        sentAtMs: this.#clock.nowMs(),
        echoIsDue: this.#options.wire.echo === true,
        endsAtEcho: options.endsAtEcho,
        resolve,
        reject,
        cancelTimer,
      };
      this.#pending = pending;
      try {
        this.write(text, !options.endsAtEcho);
      } catch (cause) {
        this.#settle(pending);
        reject(cause as BenchError);
      }
    });
  }

  /**
   * Asks for the identity and drops every line that `isIt` does not take; undefined when none came in time. `beginsFence`: a
   * question was doubted since the identity was asked for last, so answers still due from then prove nothing of it.
   */
  async askWho(
    withinMs: number,
    isIt: (line: string) => boolean,
    beginsFence: boolean = false,
  ): Promise<Answer | undefined> {
    await this.gap();
    if (beginsFence) this.#ofEarlierFence = this.#stale.count;
    return await new Promise((resolve) => {
      const end = (answer: Answer | undefined): void => {
        cancelTimer();
        this.#collecting = undefined;
        resolve(answer);
      };
      const cancelTimer = this.#clock.after(withinMs, () => {
        this.#stale.count += 1;
        end(undefined);
      });
      const sentAtMs = this.#clock.nowMs();
      this.#collecting = {
        take: (line) => {
          const text = line.text.trim();
          if (!isIt(text)) return;
          if (this.#ofEarlierFence > 0) {
            this.#ofEarlierFence -= 1;
            this.#stale.count -= 1;
            return;
          }
          // The answers to earlier tries come behind this one, perhaps in the same piece of bytes.
          this.#stale.text = text;
          end({ text, sentAtMs, atMs: line.atMs });
        },
        end,
      };
      try {
        this.write(IDENTITY_QUERY, true);
      } catch {
        end(undefined);
      }
    });
  }

  /** Drops what comes until nothing has come for `ms`, at most three times as long. */
  async settle(ms: number): Promise<void> {
    const untilMs = this.#clock.nowMs() + 3 * ms;
    this.#collecting = { take: () => {}, end: () => {} };
    do {
      this.link.discardInput();
      await this.pause(ms);
    } while (this.#clock.nowMs() - this.#lastByteMs < ms && this.#clock.nowMs() < untilMs);
    this.#collecting = undefined;
  }

  /** Everything waited for ends now: a question with `error`, a search for the identity with nothing. */
  abandon(error: BenchError): void {
    const pending = this.#pending;
    if (pending !== undefined) {
      this.#settle(pending);
      pending.reject(error);
    }
    this.#collecting?.end(undefined);
  }

  #settle(pending: Pending): void {
    pending.cancelTimer();
    if (this.#pending === pending) this.#pending = undefined;
  }

  #line(line: LinkLine): void {
    this.#lastByteMs = line.atMs;
    if (this.#collecting !== undefined) {
      this.#collecting.take(line);
      return;
    }
    const text = line.text.trim();
    const pending = this.#pending;
    if (this.#stale.count > 0 && text === this.#stale.text && pending?.text !== IDENTITY_QUERY) {
      this.#stale.count -= 1;
      return;
    }
    if (pending === undefined) {
      this.#options.onUnexpected();
      this.#options.onSuspect(`${quoted(text)} came although nothing was asked`);
      return;
    }
    const isEcho = text === pending.text.trim();
    if (pending.echoIsDue && isEcho && !pending.endsAtEcho) {
      pending.echoIsDue = false;
      return;
    }
    this.#settle(pending);
    if (pending.echoIsDue !== isEcho) {
      const should = pending.echoIsDue ? "its echo" : "an answer";
      this.#options.onSuspect(`the reply was ${quoted(text)}; expected ${should}`);
      pending.reject(
        this.#error("bad-reply", `the reply to ${quoted(pending.text)} was ${quoted(text)}; expected ${should}`),
      );
      return;
    }
    // Answers come in the order of their questions: nothing asked before this one can still come.
    this.#stale.count = 0;
    pending.resolve({ text, sentAtMs: pending.sentAtMs, atMs: line.atMs });
  }

  #junk(junk: LinkJunk): void {
    this.#lastByteMs = junk.atMs;
    this.heardJunk = junk.text;
    if (this.#collecting !== undefined) return;
    this.#options.onUnexpected();
    this.#options.onSuspect(`${quoted(junk.text)} came (${junk.why})`);
    const pending = this.#pending;
    if (pending === undefined) return;
    this.#settle(pending);
    const should = "expected one complete line of text";
    pending.reject(
      this.#error(
        "bad-reply",
        `the reply to ${quoted(pending.text)} was ${quoted(junk.text)} (${junk.why}); ${should}`,
      ),
    );
  }

  #error(code: BenchErrorCode, what: string): BenchError {
    return new BenchError(code, `Cannot talk to "${this.#options.name}": ${what}`, { instrument: this.#options.name });
  }
}
