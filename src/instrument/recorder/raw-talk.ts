import { BenchError, quoted } from "../../../shared/bench-error.ts";
import { type Clock, pause } from "../../../shared/clock.ts";
import type { Link } from "../../link/link.ts";
import { blockHead } from "../../scpi/block.ts";

const LF = 0x0a;
const CR = 0x0d;
const SPACE = 0x20;
/** More than the longest record that is taken, as text; a peer that sends without end is not listened to for ever. */
const MOST_BYTES = 16 * 1024 * 1024;
const LONGEST_LINE = 65_536;

export interface RawTalkOptions {
  /** The instrument's name, for sentences. */
  name: string;
  link: Link;
  clock: Clock;
  terminator: string;
  gapMs: number;
  /** The longest silence within an answer, ms. */
  idleMs: number;
  /** Told that nothing more can be said or heard, and why; left out: by the link's own end. */
  onEnd?: (listener: (why: string) => void) => void;
}

/** The bytes that came so far, and whether they are all: the answer, or undefined while more must come. */
type Whole = (bytes: Uint8Array, hasEnded: boolean) => Uint8Array | undefined;

/**
 * One question after the other on a link that nobody else uses meanwhile, answered by bytes: a line however long, or a block. Nothing is asked twice; whoever
 * gets an error closes the link, since what comes later would be another question's answer.
 */
export class RawTalk {
  readonly #options: RawTalkOptions;
  #pieces: Uint8Array[] = [];
  #length = 0;
  #heard: (hasEnded: boolean) => void = () => {};
  #closedBecause: string | null = null;

  constructor(options: RawTalkOptions) {
    this.#options = options;
    options.link.divert((bytes) => {
      if (bytes !== null) {
        // A copy: a serial port reads its next bytes into the same memory.
        this.#pieces.push(Uint8Array.from(bytes));
        this.#length += bytes.length;
      }
      this.#heard(bytes === null);
    });
    const onEnd = options.onEnd ?? ((listener) => options.link.onClose(({ detail }) => listener(detail)));
    onEnd((why) => this.end(why));
  }

  /** Nothing more is said or heard; whoever waits for an answer gets an error. */
  end(why: string): void {
    this.#closedBecause ??= why;
    this.#heard(false);
  }

  async tell(text: string): Promise<void> {
    await this.#gap();
    if (this.#closedBecause !== null) throw this.#gone(text);
    this.#options.link.write(text + this.#options.terminator);
  }

  /** The answer's line without its end. Throws BenchError "no-reply", "bad-reply" or "link-closed". */
  async ask(text: string): Promise<string> {
    const bytes = await this.#answer(text, (all, hasEnded) => lineIn(all, hasEnded, LONGEST_LINE));
    return latin1(bytes).trim();
  }

  /** As `ask`, for an answer that may be as long as a record. */
  async askLong(text: string): Promise<string> {
    return latin1(await this.#answer(text, (all, hasEnded) => lineIn(all, hasEnded, MOST_BYTES))).trim();
  }

  /** The data of the block that answers. `bytes` is how many they should be: the end of an indefinite one on links that know no ends. */
  async askBlock(text: string, bytes: number): Promise<Uint8Array> {
    return await this.#answer(text, (all, hasEnded) => {
      const from = all.findIndex((byte) => byte !== LF && byte !== CR && byte !== SPACE);
      const rest = from < 0 ? new Uint8Array() : all.subarray(from);
      const head = blockHead(rest);
      if (head.kind === "bad") throw this.#bad(text, rest, head.why);
      if (head.kind === "definite") {
        if (head.bytes !== bytes) throw this.#bad(text, rest, `a block of ${head.bytes} bytes; ${bytes} were expected`);
        const end = head.from + head.bytes;
        return rest.length >= end ? rest.subarray(head.from, end) : undefined;
      }
      if (head.kind === "more") return undefined;
      const data = rest.subarray(head.from);
      const isWhole = data.length > bytes && data[bytes] === LF;
      return isWhole || (hasEnded && data.length >= bytes) ? data.subarray(0, bytes) : undefined;
    });
  }

  async #gap(): Promise<void> {
    if (this.#options.gapMs > 0) await pause(this.#options.clock, this.#options.gapMs);
  }

  async #answer(text: string, whole: Whole): Promise<Uint8Array> {
    this.#pieces = [];
    this.#length = 0;
    await this.#gap();
    return await new Promise<Uint8Array>((resolve, reject) => {
      const { clock, idleMs, name, link, terminator } = this.#options;
      let cancel: () => void = () => {};
      const settle = (how: () => void): void => {
        cancel();
        this.#heard = () => {};
        how();
        this.#pieces = [];
      };
      const wait = (): void => {
        cancel();
        cancel = clock.after(idleMs, () =>
          settle(() =>
            reject(
              new BenchError(
                "no-reply",
                `Cannot read from recorder "${name}": after ${quoted(text)} ${this.#length === 0 ? "nothing" : `${this.#length} bytes and no more`} came within ${idleMs} ms`,
                { instrument: name },
              ),
            ),
          ),
        );
      };
      this.#heard = (hasEnded) => {
        try {
          if (this.#closedBecause !== null) throw this.#gone(text);
          if (this.#length > MOST_BYTES)
            throw this.#bad(text, this.#joined(), `more than ${MOST_BYTES} bytes, without an end`);
          const answer = whole(this.#joined(), hasEnded);
          if (answer === undefined) wait();
          else settle(() => resolve(answer));
        } catch (cause) {
          settle(() => reject(cause));
        }
      };
      wait();
      try {
        if (this.#closedBecause !== null) throw this.#gone(text);
        link.write(text + terminator, { expectsReply: true });
      } catch (cause) {
        settle(() => reject(cause));
      }
    });
  }

  /** Everything so far in one piece; joined once for each piece that doubles it at most. */
  #joined(): Uint8Array {
    if (this.#pieces.length > 1) this.#pieces = [Buffer.concat(this.#pieces)];
    return this.#pieces[0] ?? new Uint8Array();
  }

  #gone(text: string): BenchError {
    const { name } = this.#options;
    const says = `Cannot read from recorder "${name}": after ${quoted(text)} the link closed (${this.#closedBecause})`;
    return new BenchError("link-closed", says, { instrument: name });
  }

  #bad(text: string, came: Uint8Array, why: string): BenchError {
    const { name } = this.#options;
    const says = `Cannot read from recorder "${name}": the reply to ${quoted(text)} was ${quoted(latin1(came.subarray(0, 40)))}, ${why}`;
    return new BenchError("bad-reply", says, { instrument: name });
  }
}

/** A line ends at its first line end after a letter; a message's end is one too. */
function lineIn(bytes: Uint8Array, hasEnded: boolean, most: number): Uint8Array | undefined {
  const from = bytes.findIndex((byte) => byte !== LF && byte !== CR);
  if (from < 0) return undefined;
  const [feed, back] = [bytes.indexOf(LF, from), bytes.indexOf(CR, from)];
  const end = feed < 0 || back < 0 ? Math.max(feed, back) : Math.min(feed, back);
  if (end < 0 && bytes.length > most)
    throw new BenchError("bad-reply", `Cannot read a line: ${bytes.length} bytes came without an end`);
  if (end < 0) return hasEnded ? bytes.subarray(from) : undefined;
  return bytes.subarray(from, end);
}

const latin1 = (bytes: Uint8Array): string => Buffer.from(bytes).toString("latin1");
