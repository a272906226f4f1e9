import { BenchError, quoted } from "../../shared/bench-error.ts";
import { type Clock, pause } from "../../shared/clock.ts";
import type { SupplyDriver } from "../../shared/files/driver-file.ts";
import { voltsHaveFallen } from "../../shared/words/fallen-volts.ts";
import { messageOf } from "../../shared/words/message-of.ts";
import type { InstrumentSession } from "./session.ts";
import { outputFrom } from "./settings.ts";
import type { Speech } from "./speech.ts";
import { ampsFrom, type ValueGrammar, voltsFrom } from "./values.ts";

const AGAIN_AFTER_MS = 20;

export interface ProveOffOptions {
  session: InstrumentSession;
  clock: Clock;
  speech: Speech;
  driver: SupplyDriver;
  grammar: ValueGrammar;
  channels: readonly number[];
  withinMs: number;
  /** A current up to this counts as none, amps. */
  zeroAmps: number;
  /** Step of its volts, volts; null: not known. */
  stepVolts: number | null;
  /** The first volts read of each channel since it was told off. */
  firstVolts: Map<number, number>;
}

/**
 * Whether channels are off: output state, current and volts, asked again until all say so or `withinMs` are over. A channel
 * that reads on is told off again, and to go to 0 V, which helps where off does not. Volts that remain are capacitors, but
 * they must fall: the state alone is the driver's word, and a board that draws nothing has no current either way. Never throws.
 */
export async function proveOff(options: ProveOffOptions): Promise<{ output: "off" | "unknown"; detail: string }> {
  const { session, clock, channels } = options;
  const untilMs = clock.nowMs() + options.withinMs;
  // The last sight of the outputs tells more than a question that was not answered after it.
  let seen: string | undefined;
  let trouble = "nothing was asked";
  do {
    try {
      const findings = await session.exclusive(async (turn) => {
        const notOff: string[] = [];
        for (const channel of channels) {
          const finding = await lookAt(channel, turn, options);
          if (finding !== undefined) notOff.push(finding);
        }
        return notOff;
      });
      if (findings.length === 0) {
        const which = channels.length === 1 ? `channel ${channels[0]}` : `channels ${channels.join(", ")}`;
        return {
          output: "off",
          detail: `${which}: the output reads off, no current flows and its volts are gone or falling`,
        };
      }
      seen = findings.join("; ");
    } catch (cause) {
      trouble = messageOf(cause);
      if (cause instanceof BenchError && cause.code === "bad-reply") session.doubt(trouble);
    }
    if (clock.nowMs() < untilMs) await pause(clock, AGAIN_AFTER_MS);
  } while (clock.nowMs() < untilMs);
  return { output: "unknown", detail: seen ?? trouble };
}

/** The reason why a channel is not off, in words; undefined when it is. */
async function lookAt(
  channel: number,
  turn: Parameters<Speech["ask"]>[0],
  options: ProveOffOptions,
): Promise<string | undefined> {
  const { speech, driver, grammar, zeroAmps, stepVolts, firstVolts } = options;
  const { askOutput, measureAmps, measureVolts, outputOff, setVolts } = driver.operations;
  const { texts } = await speech.ask(turn, [askOutput, measureAmps, measureVolts], channel);
  const state = outputFrom(texts[0] ?? "");
  if (state !== "off") {
    await speech.tell(turn, outputOff, channel);
    await speech.tell(turn, setVolts, channel, 0);
    return `channel ${channel}: the output reads ${state === "on" ? "on although off was sent" : quoted(texts[0] ?? "")}; off was sent again`;
  }
  const amps = ampsFrom(texts[1] ?? "", grammar);
  if (amps.kind !== "value") return `channel ${channel}: the output reads off, its current reads ${amps.kind}`;
  if (Math.abs(amps.amps) > zeroAmps) {
    return `channel ${channel}: the output reads off, but ${amps.amps} A flows; it should be within ${zeroAmps.toPrecision(2)} A of zero`;
  }
  const volts = voltsFrom(texts[2] ?? "", grammar);
  if (volts.kind !== "value") return `channel ${channel}: the output reads off, its voltage reads ${volts.kind}`;
  const first = firstVolts.get(channel) ?? volts.volts;
  firstVolts.set(channel, first);
  if (voltsHaveFallen(volts.volts, first, stepVolts)) return undefined;
  return `channel ${channel}: the output reads off, but its voltage stays at ${volts.volts} V; it should fall`;
}
