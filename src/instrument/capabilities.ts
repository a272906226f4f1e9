import { BenchError } from "../../shared/bench-error.ts";
import type { SupplyDriver } from "../../shared/files/driver-file.ts";
import { parseBoolean } from "../scpi/boolean.ts";
import { splitReplies } from "../scpi/compound.ts";
import { parseEventStatus } from "../scpi/event-status.ts";
import { parseNumber, stepOf } from "../scpi/number.ts";
import { askAgain } from "./ask-again.ts";
import { drainErrors } from "./error-queue.ts";
import { modeFrom } from "./mode.ts";
import type { InstrumentSession } from "./session.ts";
import type { Speech } from "./speech.ts";
import type { Turn } from "./turn.ts";

/** Which of the things a driver knows how to say this instrument took, and the steps that its digits suggest. */
export interface Capabilities {
  together: boolean;
  overVoltage: boolean;
  overVoltageSwitch: boolean;
  /** It says whether the protection acted. */
  overVoltageTripped: boolean;
  overCurrent: boolean;
  overCurrentTripped: boolean;
  overCurrentDelay: boolean;
  mode: boolean;
  watchdog: boolean;
  /** It has an event status register, by whose power-on bit a restart is told. */
  eventStatus: boolean;
  stepVolts: number | undefined;
  stepAmps: number | undefined;
}

/**
 * Asks one thing that may not exist: its answer, or undefined where an error, silence or nonsense came. Silence without
 * an error may be a lost answer and is asked once more. The error queue is empty afterwards.
 */
export async function tryAsk(
  session: InstrumentSession,
  ask: (turn: Turn) => Promise<string>,
  options: { name: string; askError: string | null; fits: (text: string) => boolean },
): Promise<string | undefined> {
  for (let each = 0; each < 2; each++) {
    let text: string | undefined;
    try {
      text = await session.exclusive(ask);
      if (options.fits(text)) return text;
      session.doubt(`the reply was ${JSON.stringify(text)}, which is not an answer`);
    } catch (cause) {
      if (!(cause instanceof BenchError) || (cause.code !== "no-reply" && cause.code !== "bad-reply")) throw cause;
      // More of the answer may be on its way; it must not be taken for the error queue's.
      session.doubt(cause.message);
    }
    const errors = await askAgain(session, (turn) => drainErrors(turn, options));
    if (errors.length > 0 || text !== undefined || options.askError === null) return undefined;
  }
  return undefined;
}

const isNumber = (text: string): boolean => parseNumber(text).kind !== "bad";
const isBoolean = (text: string): boolean => parseBoolean(text) !== undefined;

/** Tries every capability of a driver on channel 1, by questions that change nothing but the selected channel. */
export async function findCapabilities(options: {
  session: InstrumentSession;
  speech: Speech;
  driver: SupplyDriver;
  /** The time a question may stay unanswered before it counts as not understood, ms. */
  silentMs: number;
  units: { volts: string | undefined; amps: string | undefined };
}): Promise<Capabilities> {
  const { session, speech, driver, silentMs } = options;
  const common = { name: session.name, askError: driver.askError };
  const has = async (question: string | undefined, fits: (text: string) => boolean): Promise<boolean> => {
    if (question === undefined) return false;
    const ask = async (turn: Turn): Promise<string> =>
      (await speech.ask(turn, [question], 1, { timeoutMs: silentMs })).texts[0] ?? "";
    return (await tryAsk(session, ask, { ...common, fits })) !== undefined;
  };

  const { measureVolts, measureAmps, measureBoth } = driver.operations;
  const pair = measureBoth === undefined ? [measureVolts, measureAmps] : [measureBoth];
  let together = measureBoth !== undefined;
  if (speech.joins && measureBoth === undefined) {
    const answer = await tryAsk(session, async (turn) => (await speech.ask(turn, pair, 1)).texts.join(";"), {
      ...common,
      fits: (text) => splitReplies(text).length === 2,
    });
    // An instrument that answers on two lines sends the second when nothing is outstanding, which is noticed as such.
    speech.joins = answer !== undefined && session.suspectBecause === undefined;
    together = speech.joins;
  }
  const single = await askAgain(session, (turn) => speech.ask(turn, [measureVolts, measureAmps], 1));
  const step = (text: string | undefined, unit: string | undefined): number | undefined =>
    stepOf(unit === undefined ? (text ?? "") : (text ?? "").replace(new RegExp(`\\s*${unit}$`, "i"), ""));

  const overVoltage = await has(driver.overVoltage?.ask, isNumber);
  const overCurrent = await has(driver.overCurrent?.askOn, isBoolean);
  return {
    together,
    overVoltage,
    overVoltageSwitch: overVoltage && (await has(driver.overVoltage?.askOn, isBoolean)),
    overVoltageTripped: overVoltage && (await has(driver.overVoltage?.askTripped, isBoolean)),
    overCurrent,
    overCurrentTripped: overCurrent && (await has(driver.overCurrent?.askTripped, isBoolean)),
    overCurrentDelay: overCurrent && (await has(driver.overCurrent?.askDelay, isNumber)),
    mode: await has(driver.mode?.ask, (text) => modeFrom(text, driver.mode) !== undefined),
    watchdog: await has(driver.watchdog?.askOn, isBoolean),
    // Asked once here, it is emptied too: the power-on bit of before is no restart.
    eventStatus: await has("*ESR?", (text) => parseEventStatus(text) !== undefined),
    stepVolts: step(single.texts[0], options.units.volts),
    stepAmps: step(single.texts[1], options.units.amps),
  };
}
