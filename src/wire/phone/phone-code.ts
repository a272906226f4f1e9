import { randomBytes, randomInt, timingSafeEqual } from "node:crypto";
import type { Clock } from "../../../shared/clock.ts";
import type { PhoneEnd } from "../../../shared/wire-phone.ts";

/** Life of a code and of what it opened, ms. */
export const PHONE_CODE_MS = 10 * 60_000;
/** Letters and digits that are not taken for one another when they are read off a screen. */
const LETTERS = "ABCDEFGHJKMNPQRSTVWXYZ23456789";
const LENGTH = 8;
/** So many wrong tries end a code: eight of thirty letters are not guessed in ten. */
const MOST_WRONG = 10;
const MOST_PHOTOGRAPHS = 50;
const MOST_BYTES = 300 * 1024 * 1024;
/** Uploads at a time. */
const AT_ONCE = 2;

interface Code {
  job: string;
  letters: string;
  /** The pass that the phone shows once it used the code; null: none has used it. */
  pass: string | null;
  untilMs: number;
  wrong: number;
  photographs: number;
  bytes: number;
  underWay: number;
  callOff: () => void;
}

/**
 * The one code by which one phone may send photographs into one job. A new one takes the place of the one before. It ends
 * after ten minutes, when it is withdrawn, with its job, after ten wrong tries, and when as much came as may come.
 */
export class PhoneCode {
  readonly #clock: Clock;
  readonly #onChange: () => void;
  #code: Code | null = null;
  #ended: PhoneEnd | null = null;

  constructor(clock: Clock, onChange: () => void) {
    this.#clock = clock;
    this.#onChange = onChange;
  }

  get job(): string | null {
    return this.#code?.job ?? null;
  }

  get ended(): PhoneEnd | null {
    return this.#ended;
  }

  /** The code in force, as pages are told of it; null: there is none. */
  get told(): { job: string; secondsLeft: number; used: boolean; photographs: number } | null {
    const code = this.#code;
    if (code === null) return null;
    const secondsLeft = Math.max(0, Math.round((code.untilMs - this.#clock.nowMs()) / 1000));
    return { job: code.job, secondsLeft, used: code.pass !== null, photographs: code.photographs };
  }

  /** A new code for a job, as it is shown: eight letters and digits, with a dash in the middle. */
  make(job: string): string {
    this.#code?.callOff();
    const letters = Array.from({ length: LENGTH }, () => LETTERS[randomInt(LETTERS.length)]).join("");
    this.#code = {
      ...{ job, letters, pass: null, wrong: 0, photographs: 0, bytes: 0, underWay: 0 },
      untilMs: this.#clock.nowMs() + PHONE_CODE_MS,
      callOff: this.#clock.after(PHONE_CODE_MS, () => this.end("time")),
    };
    this.#ended = null;
    this.#onChange();
    return `${letters.slice(0, LENGTH / 2)}-${letters.slice(LENGTH / 2)}`;
  }

  end(because: PhoneEnd): void {
    if (this.#code === null) return;
    this.#code.callOff();
    this.#code = null;
    this.#ended = because;
    this.#onChange();
  }

  /** Uses the code up: the pass of the phone that typed it; null for a wrong or used one, and where there is none. */
  use(typed: string): string | null {
    const code = this.#code;
    const plain = typed.toUpperCase().replace(/[\s-]/g, "");
    if (code === null) return null;
    if (!same(code.letters, plain) || code.pass !== null) {
      code.wrong += 1;
      if (code.wrong >= MOST_WRONG) this.end("wrong-codes");
      return null;
    }
    code.pass = randomBytes(32).toString("base64url");
    this.#onChange();
    return code.pass;
  }

  /** True for the pass of the phone that used the code in force. */
  knows(pass: string): boolean {
    return this.#code?.pass != null && same(this.#code.pass, pass);
  }

  /** The place of an upload by the phone with this pass, or why there is none. */
  begin(pass: string): PhoneUpload | "no-pass" | "too-many" {
    const code = this.#code;
    if (code === null || !this.knows(pass)) return "no-pass";
    if (code.underWay >= AT_ONCE) return "too-many";
    code.underWay += 1;
    return {
      job: code.job,
      isInForce: () => this.#code === code,
      take: (bytes) => {
        code.bytes += bytes;
        return code.bytes <= MOST_BYTES;
      },
      over: (filed) => {
        code.underWay -= 1;
        if (filed) code.photographs += 1;
        if (this.#code !== code) return;
        if (code.photographs >= MOST_PHOTOGRAPHS || code.bytes >= MOST_BYTES) this.end("full");
        else if (filed) this.#onChange();
      },
    };
  }
}

export interface PhoneUpload {
  job: string;
  /** False once the code has ended: nothing more is filed by it. */
  isInForce(): boolean;
  /** Counts bytes that came in; false: more came by this code than may come. */
  take(bytes: number): boolean;
  over(filed: boolean): void;
}

function same(a: string, b: string): boolean {
  const [left, right] = [Buffer.from(a), Buffer.from(b)];
  return left.length === right.length && timingSafeEqual(left, right);
}
