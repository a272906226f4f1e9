import { BenchError, type BenchErrorCode, quoted } from "../../shared/bench-error.ts";
import type { Clock } from "../../shared/clock.ts";
import { Epoch, type EpochToken } from "../../shared/epoch.ts";
import type { Link, LinkClosed } from "../link/link.ts";
import type { Identity } from "../scpi/identity.ts";
import { type Answer, Exchange, IDENTITY_QUERY, type SessionWire } from "./exchange.ts";
import { findIdentity, otherThan } from "./find-identity.ts";
import { type LentLink, Loan } from "./loan.ts";
import { type RoundTripFigures, RoundTrips } from "./round-trips.ts";
import type { SessionOptions } from "./session-options.ts";
import type { Turn } from "./turn.ts";

const ENERGISED_REPLY_MS = 150;
const LONGEST_QUEUE = 64;
const FENCE_TRIES = 3;
/** The time by which the old connection outlives the fresh one of a cut, so that what was written on it arrives. */
const OLD_LINK_MS = 100;

/**
 * A conversation with one instrument: one question outstanding at any time, each answered by its own reply or by an
 * error, never by another's. After anything that could shift answers (a timeout, a line nobody asked for, garbage) the
 * link is *suspect*: nothing is published and nothing is sent until `*IDN?` has brought exactly the known identity.
 */
export class InstrumentSession {
  readonly name: string;
  readonly address: string;
  /** Over the life of the session, for a trend. */
  readonly counters = { timeouts: 0, fences: 0, reconnects: 0, unexpected: 0 };
  /** True while the instrument's output may be on: replies must then come within max(150 ms, 5 × p99). */
  energised = false;
  readonly #options: SessionOptions;
  readonly #clock: Clock;
  readonly #roundTrips = new RoundTrips();
  readonly #wire: SessionWire;
  readonly #lostListeners = new Set<(why: BenchError) => void>();
  #exchange: Exchange;
  #identity: Identity | undefined;
  #suspectBecause: string | undefined;
  #queue: Promise<unknown> = Promise.resolve();
  #queued = 0;
  /** Raised by each cut of this instrument: turns asked for before one do not go on after it. */
  readonly epoch = new Epoch();
  #replacing: Promise<void> | undefined;
  #closedByUs = false;
  readonly #loan = new Loan();

  constructor(options: SessionOptions) {
    this.#options = options;
    this.name = options.name;
    this.address = options.link.address;
    this.#clock = options.clock;
    this.#wire = { terminator: "\n", gapMs: 0, echo: undefined, replyMs: 500, ...options.wire };
    this.#exchange = this.#exchangeOn(options.link);
  }

  /** Rises with each new connection; a command made for another number is refused. */
  get connection(): number {
    return this.#exchange.link.connection;
  }

  /** Why nothing said on this link is believed at present; undefined while all is well. */
  get suspectBecause(): string | undefined {
    return this.#suspectBecause;
  }

  get identity(): Identity | undefined {
    return this.#identity;
  }

  get roundTrip(): RoundTripFigures {
    return this.#roundTrips.figures;
  }

  /** Measures round trips anew: those of getting to know the instrument are not how it answers. */
  measureAnew(): void {
    this.#roundTrips.clear();
  }

  get wire(): Readonly<SessionWire> {
    return this.#wire;
  }

  /** Takes over what the driver says of the wire; an echo already found stays found. */
  useWire(wire: Partial<SessionWire>): void {
    Object.assign(this.#wire, wire, { echo: wire.echo ?? this.#wire.echo });
  }

  /** Hears of a link that closed unasked, and of a fence that did not hold, until the answer is called. */
  onLost(listener: (why: BenchError) => void): () => void {
    this.#lostListeners.add(listener);
    return () => void this.#lostListeners.delete(listener);
  }

  /** Milliseconds an answer may take now; `idleMs` while nothing is energised. */
  replyWithinMs(idleMs: number = this.#wire.replyMs): number {
    return this.energised ? Math.max(ENERGISED_REPLY_MS, 5 * (this.#roundTrips.slowMs ?? 0)) : idleMs;
  }

  /** One question in a turn of its own. Throws BenchError "no-reply", "bad-reply", "suspect-link", "link-closed". */
  query(text: string, options: { timeoutMs?: number } = {}): Promise<Answer> {
    return this.exclusive((turn) => turn.query(text, options));
  }

  send(text: string): Promise<void> {
    return this.exclusive((turn) => turn.send(text));
  }

  /**
   * Gives `work` the wire to itself, after the turns asked for before it. A suspect link is fenced first, or, with
   * `refuseSuspect`, refused. A turn made for an older connection, or before a cut, is refused without a byte sent.
   */
  exclusive<T>(work: (turn: Turn) => Promise<T>, options: { refuseSuspect?: boolean } = {}): Promise<T> {
    const madeFor = this.connection;
    const madeIn = this.epoch.token;
    const isFull = `${LONGEST_QUEUE} messages are waiting already; nothing was sent`;
    if (this.#queued >= LONGEST_QUEUE) return Promise.reject(this.#error("write-late", isFull));
    this.#queued += 1;
    const run = async (): Promise<T> => {
      try {
        if (this.#closedByUs) throw this.#error("link-closed", "this program closed the link; nothing was sent");
        if (this.epoch.hasRisenSince(madeIn)) throw this.#cutCame();
        if (this.connection !== madeFor) {
          throw this.#error(
            "link-closed",
            `the command was meant for connection ${madeFor}, now it is ${this.connection}; nothing was sent`,
          );
        }
        if (this.#suspectBecause !== undefined) {
          if (options.refuseSuspect === true) throw this.#suspectError("nothing was sent");
          await this.#fence(madeIn);
        }
        return await work(this.#turn(madeIn));
      } finally {
        this.#queued -= 1;
      }
    };
    const result = this.#queue.then(run);
    this.#queue = result.catch(() => {});
    return result;
  }

  /**
   * Lends the connection itself, in a turn of its own: for answers that no line holds. Refused while energised. A cut goes past it as past
   * everything, and ends it, as the end of the connection does. What fails leaves the link suspect.
   */
  lend<T>(work: (lent: LentLink) => Promise<T>): Promise<T> {
    return this.exclusive(() => {
      if (this.energised || this.#wire.echo === true)
        throw this.#error("bad-input", "its connection cannot be lent while an output may be on, nor where it echoes");
      return this.#loan.give(this.#exchange, this.#wire.gapMs, work).catch((cause: unknown) => {
        this.doubt("its buffer was not read to the end");
        throw cause;
      });
    });
  }

  /** Something read on this link cannot be an answer to what was asked: it is fenced before the next turn. */
  doubt(because: string): void {
    this.#suspectBecause ??= because;
  }

  /** Writes in between, whatever is going on, and gives nothing up: for saying off once more. */
  writeAlso(text: string): void {
    this.#exchange.writeAcross(text);
    if (this.#wire.echo === true) this.doubt("an echo is still expected");
  }

  /**
   * Writes past every queue, in this same turn, after a terminator so that a half-written line cannot swallow it. What
   * was outstanding is given up and the link is suspect then. Answers whether it was written, and what was outstanding.
   */
  writeNow(text: string): { written: boolean; hadOutstanding: boolean } {
    const hadOutstanding = this.#exchange.hasOutstanding || this.#loan.isOut;
    const written = this.#exchange.writeAcross(text);
    this.epoch.raise();
    this.#loan.end("off was sent first");
    // An echo of it would be taken for something nobody asked for.
    if (hadOutstanding || this.#wire.echo === true) this.doubt("a cut was sent ahead of the queue");
    this.#exchange.abandon(this.#cutCame());
    return { written, hadOutstanding };
  }

  /** True where a fresh connection is worth its milliseconds: on TCP, and on any link that has closed. */
  get canWriteFresh(): boolean {
    return this.#options.freshFence || !this.#exchange.link.isOpen;
  }

  /**
   * Writes on a fresh connection as soon as it opens, which is the session's from then on. The old one stays open a
   * little longer; where the instrument takes one connection only, it is closed first and the fresh one tried again.
   */
  writeFresh(text: string): Promise<void> {
    this.#replacing ??= this.#replace(text).finally(() => {
      this.#replacing = undefined;
    });
    return this.#replacing;
  }

  /**
   * Asks who is there until an answer that can be an identity comes (twice the same, with `twice`), within `withinMs`.
   * Recognises an echo. Throws BenchError "no-reply", or "bad-reply" where only garbage came.
   */
  async identify(options: { twice: boolean; withinMs: number }): Promise<Identity> {
    const found = await findIdentity(this.#exchange, this.#wire, { ...options, clock: this.#clock });
    if (found !== undefined) {
      this.#roundTrips.add(found.tookMs);
      this.#identity = found.identity;
      this.#suspectBecause = undefined;
      return found.identity;
    }
    if (this.#exchange.heardJunk !== "") {
      const should = "expected maker, model, serial number and firmware. On a serial line check the baud rate";
      const came = `the reply to ${quoted(IDENTITY_QUERY)} was ${quoted(this.#exchange.heardJunk)}`;
      throw this.#error("bad-reply", `${came}; ${should}`);
    }
    const within = `within ${Math.round(options.withinMs)} ms; no output was switched`;
    throw this.#error("no-reply", `no reply to ${quoted(IDENTITY_QUERY)} at ${this.address} ${within}`);
  }

  /** Drops what comes until the line has been quiet for `ms`, at most three times as long. Before `identify` only. */
  async settle(ms: number): Promise<void> {
    await this.#exchange.settle(ms);
    this.#suspectBecause = undefined;
  }

  async close(): Promise<void> {
    this.#closedByUs = true;
    this.#loan.end("this program closed the link");
    this.#exchange.abandon(this.#error("link-closed", "this program closed the link"));
    // A fence under way may still bring a fresh connection.
    await this.#queue;
    await this.#replacing?.catch(() => {});
    await this.#exchange.link.close();
  }

  #turn(madeIn: EpochToken): Turn {
    const exchange = this.#exchange;
    const mustStand = (): void => {
      if (this.epoch.hasRisenSince(madeIn)) throw this.#cutCame();
      if (this.#exchange !== exchange || !exchange.link.isOpen) {
        throw this.#error("link-closed", `connection ${exchange.link.connection} has ended; nothing more was sent`);
      }
      if (this.#suspectBecause !== undefined) throw this.#suspectError("nothing more was sent");
    };
    const ready = async (): Promise<void> => {
      mustStand();
      if (this.#wire.gapMs > 0) {
        await exchange.gap();
        mustStand();
      }
    };
    const consequence = this.#outputNow();
    const sendIf = async (text: string, check: () => void): Promise<void> => {
      await ready();
      check();
      if (this.#wire.echo !== true) exchange.write(text, false);
      else await exchange.ask(text, { timeoutMs: this.replyWithinMs(), endsAtEcho: true, consequence });
    };
    return {
      sendIf,
      send: (text) => sendIf(text, () => {}),
      query: async (text, options = {}) => {
        await ready();
        const timeoutMs = this.replyWithinMs(options.timeoutMs);
        try {
          const answer = await exchange.ask(text, { timeoutMs, endsAtEcho: false, consequence });
          this.#roundTrips.add(answer.atMs - answer.sentAtMs);
          return answer;
        } catch (cause) {
          if (cause instanceof BenchError && cause.code === "no-reply") this.counters.timeouts += 1;
          throw cause;
        }
      },
    };
  }

  async #replace(text: string): Promise<void> {
    const old = this.#exchange.link;
    let fresh: Link;
    try {
      fresh = await this.#options.reopen(500);
    } catch {
      await this.#exchange.pause(OLD_LINK_MS);
      await old.close();
      fresh = await this.#options.reopen(1000);
    }
    this.#adopt(fresh);
    this.#exchange.writeAcross(text);
    this.#clock.after(OLD_LINK_MS, () => {
      void old.close();
      if (this.#closedByUs) void fresh.close();
    });
  }

  /** Makes a suspect link trusted again, or throws "suspect-link" or "wrong-identity" and tells the listeners. */
  async #fence(madeIn: EpochToken): Promise<void> {
    this.counters.fences += 1;
    // While energised a fence as a whole has no more time than one reply: silence must be told as silence.
    const tryMs = this.replyWithinMs() / (this.energised ? FENCE_TRIES : 1);
    const identity = this.#identity?.raw;
    try {
      await this.#replacing?.catch(() => {});
      const { link, isFresh } = this.#exchange;
      if (!link.isOpen || (this.#options.freshFence && !isFresh)) {
        await link.close(); // Before the next is opened: some instruments take one connection only.
        this.#adopt(await this.#options.reopen(this.energised ? this.replyWithinMs() : 2000));
        if (this.#closedByUs) throw this.#error("link-closed", "this program closed the link");
      } else {
        link.discardInput();
      }
      let heard: string | undefined;
      for (let each = 0; each < FENCE_TRIES; each++) {
        const isIt = (line: string): boolean => {
          heard = line;
          return line === identity;
        };
        const answer = await this.#exchange.askWho(tryMs, isIt, each === 0);
        if (this.epoch.hasRisenSince(madeIn)) throw this.#cutCame();
        if (answer === undefined) continue;
        this.#roundTrips.add(answer.atMs - answer.sentAtMs);
        this.#suspectBecause = undefined;
        return;
      }
      throw this.#notHeld(heard);
    } catch (cause) {
      const error = cause instanceof BenchError ? cause : this.#error("link-closed", String(cause));
      if (!this.epoch.hasRisenSince(madeIn)) this.#lost(error);
      throw error;
    }
  }

  #notHeld(heard: string | undefined): BenchError {
    const known = this.#identity;
    const other = heard === undefined || known === undefined ? null : otherThan(known, heard);
    if (other !== null) {
      const who = `${quoted(other)} answers at ${this.address}; expected ${quoted(known?.raw ?? "")}`;
      return this.#error("wrong-identity", `${who}; nothing was sent to it`);
    }
    return this.#suspectError(
      `${quoted(IDENTITY_QUERY)} was asked ${FENCE_TRIES} times and the reply was never ${quoted(known?.raw ?? "an identity")}`,
    );
  }

  #exchangeOn(link: Link): Exchange {
    const exchange: Exchange = new Exchange({
      name: this.name,
      link,
      clock: this.#clock,
      wire: this.#wire,
      // A connection that was replaced may still speak; what it says belongs to nobody's question.
      onSuspect: (because) => {
        if (this.#exchange === exchange) this.doubt(because);
      },
      onUnexpected: () => {
        this.counters.unexpected += 1;
      },
      onClosed: (closed) => {
        if (this.#exchange === exchange) this.#closed(closed);
      },
    });
    return exchange;
  }

  #adopt(link: Link): void {
    this.#loan.end("the connection was replaced");
    this.#exchange.abandon(this.#error("link-closed", "the connection was replaced"));
    this.#exchange = this.#exchangeOn(link);
    this.counters.reconnects += 1;
    this.doubt("the connection is new");
  }

  #closed(closed: LinkClosed): void {
    if (this.#closedByUs || closed.why === "asked") return;
    const consequence = this.energised ? "; the output is unknown" : "";
    const error = this.#error("link-closed", `the link closed (${closed.why}: ${closed.detail})${consequence}`);
    this.doubt(`the link closed (${closed.why})`);
    this.#loan.end(closed.detail);
    this.#exchange.abandon(error);
    this.#lost(error);
  }

  #lost(error: BenchError): void {
    for (const listener of [...this.#lostListeners]) listener(error);
  }

  #cutCame(): BenchError {
    return this.#error("suspect-link", "off was sent first; this was not sent, or its reply was not waited for");
  }
  #outputNow = () => (this.energised ? "; the output is unchanged and may be on" : "; no output was switched");

  #suspectError(consequence: string): BenchError {
    const why = `the link cannot be trusted (${this.#suspectBecause})`;
    return this.#error("suspect-link", `${why}; ${consequence}${this.#outputNow()}`);
  }

  #error(code: BenchErrorCode, what: string): BenchError {
    return new BenchError(code, `Cannot talk to "${this.name}": ${what}`, { instrument: this.name });
  }
}
