import type { MessageUnit } from "./message-units.ts";
import { seededRandom } from "./random.ts";
import type { ReplyFault } from "./reply-fault.ts";
import { ScpiError } from "./scpi-instrument.ts";

/** Which replies a fault strikes; `index` counts from 0 at the moment the fault was asked for. */
export type Pick =
  | { next: number }
  | { at: readonly number[] }
  | { every: number }
  | { share: number; seed: number }
  | "all";

/** Makes the test of a pick: called once a reply, in order. */
export function picker(pick: Pick): () => boolean {
  let index = -1;
  if (pick === "all") return () => true;
  if ("next" in pick) return () => ++index < pick.next;
  if ("at" in pick) return () => pick.at.includes(++index);
  if ("every" in pick) return () => ++index % pick.every === pick.every - 1;
  const random = seededRandom(pick.seed);
  return () => random.next() < pick.share;
}

/** The controls that make one instrument misbehave; everything can be called off. */
export class Misbehaviour {
  /** Reads, runs, never answers, until it is switched back. */
  stalled = false;
  /** The output cannot be switched off. */
  staysOn = false;
  /** The answer of `*IDN?` in place of the truth. */
  identity: string | null = null;
  /** Bytes (Latin-1) sent to each new connection before anything is asked. */
  greeting = "";
  private replies: { struck: () => boolean; fault: ReplyFault }[] = [];
  private refusals: { pattern: RegExp; code: number; words: string }[] = [];
  private ignored: RegExp[] = [];

  /** Strikes replies with a fault; the answer calls it off. Where several strike one reply, the first asked for wins. */
  onReplies(pick: Pick, fault: ReplyFault): () => void {
    const entry = { struck: picker(pick), fault };
    this.replies.push(entry);
    return () => {
      this.replies = this.replies.filter((each) => each !== entry);
    };
  }

  /** Refuses settings and queries whose header matches, with an entry in the error queue. */
  refuse(pattern: RegExp, code = -200, words = "Execution error"): () => void {
    const entry = { pattern, code, words };
    this.refusals.push(entry);
    return () => {
      this.refusals = this.refusals.filter((each) => each !== entry);
    };
  }

  /** Does nothing for settings whose header matches, and says nothing of it. */
  ignore(pattern: RegExp): () => void {
    this.ignored.push(pattern);
    return () => {
      this.ignored = this.ignored.filter((each) => each !== pattern);
    };
  }

  /** The questions an instrument asks before it runs a unit. */
  before(unit: MessageUnit): boolean {
    const refusal = this.refusals.find((each) => each.pattern.test(unit.header));
    if (refusal !== undefined) throw new ScpiError(refusal.code, refusal.words);
    return unit.query || !this.ignored.some((pattern) => pattern.test(unit.header));
  }

  /** The fault of the next reply, if any. Called once a reply. */
  nextFault(): ReplyFault | undefined {
    let found: ReplyFault | undefined;
    for (const entry of this.replies) if (entry.struck()) found ??= entry.fault;
    return found;
  }
}
