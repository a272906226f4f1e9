import { BenchError, quoted } from "../../../shared/bench-error.ts";
import type { RecorderDriver } from "../../../shared/files/driver-file.ts";
import { type WordForm, wordsOf } from "../../scpi/block.ts";
import { parseNumber } from "../../scpi/number.ts";
import { firstSeconds, numbersOf, scaledVolts, scaleProblem, type WaveformScale } from "../../scpi/waveform.ts";
import type { RawTalk } from "./raw-talk.ts";

/** One channel's samples, volts at the input. */
export interface FetchedChannel {
  volts: Float64Array;
  firstSeconds: number;
  stepSeconds: number;
  stepVolts: number;
  /** All that the codes can span where the driver knows their ends, else what was seen. */
  spanVolts: number;
  clipped: number;
}

/**
 * Fetches one channel by its driver's words: the preamble, then as many samples as that says. Throws BenchError "bad-reply" where the two do not fit, so
 * that half a record is none, and what the talk throws.
 */
export async function fetchChannel(
  talk: RawTalk,
  of: {
    name: string;
    driver: RecorderDriver;
    channel: number;
    /** The driver's words for this channel. */
    fill: (text: string) => string;
    /** The beginning of the record from its trigger, as it was set. */
    firstSeconds: number;
  },
): Promise<FetchedChannel> {
  const { name, driver, channel, fill: filled } = of;
  const { before, data, samples, preamble, clipped: ends } = driver.recorder.fetch;
  const bad = (says: string): BenchError =>
    new BenchError("bad-reply", `Cannot read channel ${channel} of recorder "${name}": ${says}`, { instrument: name });
  for (const text of before) await talk.tell(filled(text));
  const scale = await preambleOf(talk, driver, { filled, bad });
  const problem = scaleProblem(scale);
  if (problem !== null) throw bad(problem);
  let codes: Float64Array | null;
  if (samples.as === "block") {
    const form: WordForm = { ...samples, order: await orderOf(talk, samples.order, { filled, bad }) };
    codes = wordsOf(await talk.askBlock(filled(data), (scale.points * samples.bits) / 8), form);
  } else codes = numbersOf(await talk.askLong(filled(data)));
  if (codes === null) throw bad(`the reply to ${quoted(filled(data))} was something else than numbers with commas`);
  if (codes.length !== scale.points) throw bad(`${codes.length} samples came; ${scale.points} were expected`);
  const volts = scaledVolts(codes, scale);
  const step = Math.abs(scale.yIncrement);
  const isSetFirst = preamble.xOrigin === undefined && preamble.xReference === undefined;
  let [least, most] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  let clipped = 0;
  for (const code of codes) {
    least = Math.min(least, code);
    most = Math.max(most, code);
    if (ends !== undefined && (code <= ends.low || code >= ends.high)) clipped++;
  }
  return {
    volts,
    firstSeconds: isSetFirst ? of.firstSeconds : firstSeconds(scale),
    stepSeconds: scale.xIncrement,
    // Samples that are amounts already have steps of their own, which nobody says.
    stepVolts: preamble.yIncrement === undefined ? 0 : step,
    spanVolts: step * (ends === undefined ? most - least : ends.high - ends.low),
    clipped,
  };
}

interface Saying {
  filled: (text: string) => string;
  bad: (says: string) => BenchError;
}

async function preambleOf(talk: RawTalk, driver: RecorderDriver, { filled, bad }: Saying): Promise<WaveformScale> {
  const { preamble } = driver.recorder.fetch;
  const list = preamble.ask === undefined ? [] : (await talk.ask(filled(preamble.ask))).split(",");
  const read = async (field: number | string | undefined, without = 0): Promise<number> => {
    if (field === undefined) return without;
    const text = typeof field === "number" ? (list[field] ?? "") : await talk.ask(filled(field));
    const number = parseNumber(text.trim(), { decimalComma: false });
    if (number.kind !== "value") throw bad(`its preamble has ${quoted(text)} in place of a number`);
    return number.value;
  };
  return {
    points: await read(preamble.points),
    xIncrement: await read(preamble.xIncrement),
    xOrigin: await read(preamble.xOrigin),
    xReference: await read(preamble.xReference),
    yIncrement: await read(preamble.yIncrement, 1),
    yOrigin: await read(preamble.yOrigin),
    yReference: await read(preamble.yReference),
  };
}

type Order = Extract<RecorderDriver["recorder"]["fetch"]["samples"], { as: "block" }>["order"];

async function orderOf(talk: RawTalk, order: Order, { filled, bad }: Saying): Promise<WordForm["order"]> {
  if (typeof order === "string") return order;
  const answer = (await talk.ask(filled(order.ask))).toUpperCase();
  const is = (words: readonly string[]): boolean => words.some((word) => answer === word.toUpperCase());
  if (is(order.high)) return "high-first";
  if (is(order.low)) return "low-first";
  throw bad(`${quoted(answer)} is not a byte order that its driver knows`);
}
