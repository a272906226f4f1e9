import type { SupplyDriver } from "../../shared/files/driver-file.ts";
import { parseNumber } from "../scpi/number.ts";
import { tryAsk } from "./capabilities.ts";
import type { InstrumentSession } from "./session.ts";
import type { Speech } from "./speech.ts";

/** Asks for the highest voltage and current that may be set on a channel; null where the supply does not say. */
export async function askRatings(options: {
  session: InstrumentSession;
  speech: Speech;
  driver: SupplyDriver;
  channel: number;
}): Promise<{ maxVolts: number | null; maxAmps: number | null }> {
  const { session, speech, driver, channel } = options;
  const most = async (question: string | undefined, unit: string | undefined): Promise<number | null> => {
    if (question === undefined) return null;
    const grammar = { decimalComma: driver.wire.decimalComma, ...(unit === undefined ? {} : { unit }) };
    const text = await tryAsk(session, async (turn) => (await speech.ask(turn, [question], channel)).texts[0] ?? "", {
      name: session.name,
      askError: driver.askError,
      fits: (each) => parseNumber(each, grammar).kind === "value",
    });
    const number = text === undefined ? undefined : parseNumber(text, grammar);
    return number?.kind === "value" ? number.value : null;
  };
  const { askMaxVolts, askMaxAmps } = driver.operations;
  const { volts, amps } = driver.wire.units;
  return { maxVolts: await most(askMaxVolts, volts), maxAmps: await most(askMaxAmps, amps) };
}
