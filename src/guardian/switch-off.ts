import { type Clock, pause } from "../../shared/clock.ts";
import type { ArmedSupply } from "../../shared/guardian.ts";
import { voltsHaveFallen } from "../../shared/words/fallen-volts.ts";
import { messageOf } from "../../shared/words/message-of.ts";
import type { Link } from "../link/link.ts";
import { openLink } from "../link/open-link.ts";

export interface SwitchedOff {
  name: string;
  output: "off" | "unknown";
  detail: string;
}

/** Time in which the link must open: a killed process may hold a serial line or a single socket for some milliseconds. */
export const OPEN_WITHIN_MS = 5000;
const IDENTITY_TRIES = 3;

type Open = (options: Parameters<typeof openLink>[0]) => Promise<Link>;

async function openAtLast(armed: ArmedSupply, clock: Clock, open: Open, withinMs: number): Promise<Link> {
  const untilMs = clock.nowMs() + withinMs;
  for (;;) {
    try {
      return await open({
        address: armed.address,
        serial: armed.serial,
        clock,
        deadlineMs: 1000,
        findsHolder: false,
      });
    } catch (cause) {
      if (clock.nowMs() >= untilMs) throw cause;
      await pause(clock, 5);
    }
  }
}

/** One link to an instrument that may echo, be slow, need pauses, or still answer what the killed process had asked. */
class Line {
  readonly #link: Link;
  readonly #clock: Clock;
  readonly #armed: ArmedSupply;
  /** Lines written so far: one that comes back is an echo. */
  readonly #written = new Set<string>();
  #take: (text: string) => void = () => {};

  constructor(link: Link, clock: Clock, armed: ArmedSupply) {
    this.#link = link;
    this.#clock = clock;
    this.#armed = armed;
    link.onLine(({ text }) => {
      const line = text.trim();
      if (!this.#written.has(line)) this.#take(line);
    });
  }

  write(text: string, expectsReply: boolean): void {
    for (const line of text.split(/[\r\n]+/)) this.#written.add(line.trim());
    this.#link.write(text, { expectsReply });
  }

  /** Asks, and answers with the first line that `fits`; undefined when none does in time. */
  async ask(text: string, fits: (line: string) => boolean): Promise<string | undefined> {
    const { gapMs, replyMs } = this.#armed;
    if (gapMs > 0) await pause(this.#clock, 1.2 * gapMs);
    return await new Promise((resolve, reject) => {
      const cancel = this.#clock.after(replyMs, () => resolve(undefined));
      this.#take = (line) => {
        if (!fits(line)) return;
        cancel();
        resolve(line);
      };
      try {
        this.write(text, true);
      } catch (cause) {
        cancel();
        reject(cause);
      }
    });
  }
}

/** A decimal comma read as an end would make 0,25 A none. */
const numberOf = (answer: string | undefined): number => Number.parseFloat((answer ?? "").replace(",", "."));

/** The first volts that were read by each question since its supply was told off: they must fall, over all tries. */
const firstVolts = new WeakMap<ArmedSupply, Map<string, number>>();
const VOLTS_TRIES = 10;
const VOLTS_EVERY_MS = 50;

/** Null once the volts are gone or falling; else what was answered last. */
async function fallingVolts(line: Line, question: string, armed: ArmedSupply, clock: Clock): Promise<string | null> {
  const firsts = firstVolts.get(armed) ?? new Map<string, number>();
  firstVolts.set(armed, firsts);
  let answer: string | undefined;
  for (let each = 0; each < VOLTS_TRIES; each++) {
    answer = await line.ask(question, (text) => text !== armed.identity);
    const volts = numberOf(answer);
    if (!Number.isNaN(volts)) {
      const first = firsts.get(question) ?? volts;
      firsts.set(question, first);
      if (voltsHaveFallen(volts, first, armed.stepVolts)) return null;
    }
    await pause(clock, VOLTS_EVERY_MS);
  }
  return answer ?? "nothing";
}

async function prove(line: Line, armed: ArmedSupply, clock: Clock): Promise<SwitchedOff> {
  const { name, identity } = armed;
  const unknown = (detail: string): SwitchedOff => ({ name, output: "unknown", detail: `off was sent; ${detail}` });
  // An answer to the killed process's question may still come: only after the known identity do answers count.
  let identified = false;
  for (let each = 0; each < IDENTITY_TRIES && !identified; each++) {
    identified = (await line.ask(armed.identityQuery, (text) => text === identity)) !== undefined;
  }
  if (!identified) return unknown("the instrument did not answer with its identity");
  // An identity that was given up before may come now.
  const isNews = (text: string): boolean => text !== identity;
  for (const question of armed.state) {
    const answer = await line.ask(question, isNews);
    if (answer === undefined || !armed.offAnswers.includes(answer.toUpperCase()))
      return unknown(`the output state reads ${JSON.stringify(answer ?? "nothing")}`);
  }
  for (const question of armed.current) {
    const answer = await line.ask(question, isNews);
    if (!(Math.abs(numberOf(answer)) <= armed.zeroAmps))
      return unknown(`the output state is off, but the current is ${JSON.stringify(answer ?? "nothing")}`);
  }
  for (const question of armed.volts) {
    const volts = await fallingVolts(line, question, armed, clock);
    if (volts !== null)
      return unknown(`the output state is off, but the voltage is ${JSON.stringify(volts)} and does not fall`);
  }
  return {
    name,
    output: "off",
    detail: "off was sent; the output state is off, no current flows, and the voltage is gone or falling",
  };
}

/**
 * Tries once to switch one supply off with the literal bytes it was armed with: off is written the moment the link opens,
 * and again as it was armed to; only then is anything asked. A link that does not open is tried anew for `openWithinMs`, at
 * least once. Never throws: what could not be proved is `unknown`.
 */
export async function switchOff(
  armed: ArmedSupply,
  clock: Clock,
  open: Open = openLink,
  openWithinMs = OPEN_WITHIN_MS,
): Promise<SwitchedOff> {
  try {
    const link = await openAtLast(armed, clock, open, openWithinMs);
    const openedMs = clock.nowMs();
    try {
      const line = new Line(link, clock, armed);
      for (const { afterMs, text } of armed.off) {
        const restMs = openedMs + afterMs - clock.nowMs();
        if (restMs > 0) await pause(clock, restMs);
        line.write(text, false);
      }
      return await prove(line, armed, clock);
    } finally {
      await link.close();
    }
  } catch (cause) {
    return { name: armed.name, output: "unknown", detail: messageOf(cause) };
  }
}

const AGAIN_MS = 250;

/** As `switchOff`, so many times at most, a quarter of a second apart: a current may flow on for a moment after the off. */
export async function switchOffInTries(
  armed: ArmedSupply,
  clock: Clock,
  tries: number,
  open: Open = openLink,
): Promise<SwitchedOff> {
  for (let tried = 1; ; tried++) {
    const result = await switchOff(armed, clock, open);
    if (result.output === "off" || tried >= tries) return result;
    await pause(clock, AGAIN_MS);
  }
}
