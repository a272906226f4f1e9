import { randomBytes } from "./random-bytes.ts";

/**
 * When an event was filed, by a hybrid logical clock (Kulkarni et al., "Logical Physical Clocks", 2014): milliseconds of the
 * wall clock, a counter, and the origin that filed it. As text `MMMMMMMMMMMMMMM.CCCCCCCC.ORIGIN`, so that the order of texts by
 * their bytes is the order of events, the same on every bench whatever its clock says. The origin is empty for events from
 * before stamps were kept.
 */
export interface Stamp {
  ms: number;
  counter: number;
  origin: string;
}

const FORM = /^(\d{15})\.(\d{8})\.([a-z0-9-]{1,40}~[0-9a-f]{8})?$/;

/** The text of a stamp. */
export const stampText = ({ ms, counter, origin }: Stamp): string =>
  `${String(ms).padStart(15, "0")}.${String(counter).padStart(8, "0")}.${origin}`;

/** Reads a stamp from its text; null if the text is not one. */
export function parseStamp(text: string): Stamp | null {
  const [, ms, counter, origin = ""] = FORM.exec(text) ?? [];
  return ms === undefined || counter === undefined ? null : { ms: Number(ms), counter: Number(counter), origin };
}

/** A new origin for events of the bench with this name: the name and a random part, so that a copied record is told apart. */
export const newOrigin = (bench: string): string => `${bench}~${Buffer.from(randomBytes(4)).toString("hex")}`;

/** The name of the bench in an origin; null where there is none. */
export const benchOf = (origin: string): string | null => origin.split("~")[0] || null;

/** The order of two stamped events: by stamp, ties by id. */
export function byStamp(a: { stamp: string; id: string }, b: { stamp: string; id: string }): number {
  if (a.stamp !== b.stamp) return a.stamp < b.stamp ? -1 : 1;
  return a.id < b.id ? -1 : a.id > b.id ? 1 : 0;
}

/**
 * Stamps for events that were filed before stamps were kept, from the wall clock of each, in the order they were filed. The
 * same list gives the same stamps on every bench, so that an old job means the same event wherever it is taken in.
 */
export function stampsOfOld(recordedAt: readonly string[]): string[] {
  const clock = new StampClock("", () => 0);
  return recordedAt.map((each) => clock.next(Date.parse(each)));
}

/** Makes stamps that are later than every stamp it made or saw. */
export class StampClock {
  readonly #nowMs: () => number;
  #origin: string;
  #ms = -1;
  #counter = 0;

  constructor(origin: string, nowMs: () => number) {
    this.#origin = origin;
    this.#nowMs = nowMs;
  }

  next(nowMs: number = this.#nowMs()): string {
    const ms = Math.max(0, Math.trunc(nowMs));
    if (ms > this.#ms) {
      this.#ms = ms;
      this.#counter = 0;
    } else this.#counter++;
    return stampText({ ms: this.#ms, counter: this.#counter, origin: this.#origin });
  }

  /** Takes in a stamp that another clock made. */
  see(text: string): void {
    const stamp = parseStamp(text);
    if (stamp === null || stamp.ms < this.#ms) return;
    this.#counter = stamp.ms > this.#ms ? stamp.counter : Math.max(this.#counter, stamp.counter);
    this.#ms = stamp.ms;
  }

  /** From now on stamps are of another origin. */
  goBy(origin: string): void {
    this.#origin = origin;
  }
}
