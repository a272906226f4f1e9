import type { SupplyDriver } from "../../shared/files/driver-file.ts";
import { parseBoolean } from "../scpi/boolean.ts";
import { askAgain } from "./ask-again.ts";
import type { Capabilities } from "./capabilities.ts";
import { drainErrors } from "./error-queue.ts";
import type { InstrumentSession } from "./session.ts";
import type { Speech } from "./speech.ts";
import type { Supply } from "./supply.ts";
import { supplyError } from "./supply-error.ts";

export interface SupplyProtectionsOptions {
  session: InstrumentSession;
  speech: Speech;
  driver: SupplyDriver;
  capabilities: Capabilities;
}

/** The acts of a supply's own protections, and the way to make them ready again. */
export class SupplyProtections {
  readonly #options: SupplyProtectionsOptions;

  constructor(options: SupplyProtectionsOptions) {
    this.#options = options;
  }

  /** Which one switched a channel off; null where none says so, or none can be asked. */
  async trippedBy(channel: number): Promise<"over-voltage" | "over-current" | null> {
    const { session, speech, driver, capabilities } = this.#options;
    const asks = (
      [
        ["over-voltage", capabilities.overVoltageTripped, driver.overVoltage?.askTripped],
        ["over-current", capabilities.overCurrentTripped, driver.overCurrent?.askTripped],
      ] as const
    ).flatMap(([which, can, ask]) => (can && ask !== undefined ? [{ which, ask }] : []));
    if (asks.length === 0) return null;
    const questions = asks.map(({ ask }) => ask);
    const { texts } = await askAgain(session, (turn) => speech.ask(turn, questions, channel));
    return asks.find((_, index) => parseBoolean(texts[index] ?? "") === true)?.which ?? null;
  }

  /**
   * Clears what tripped. Clearing restores on some supplies what was before the trip, which is on: off is said first, then
   * no volts, and an output that comes on anyway is cut and told as BenchError "output-unknown".
   */
  async clear(channel: number, output: Pick<Supply, "switchOff" | "outputState" | "cut">): Promise<void> {
    const { session, speech, driver } = this.#options;
    const mustBeOff = async (butIs: string): Promise<void> => {
      if ((await output.outputState(channel)) === "off") return;
      output.cut([channel]);
      throw supplyError(session.name, "output-unknown", butIs);
    };
    // A tripped output reads off and is told off anyway.
    await output.switchOff(channel);
    await mustBeOff(`channel ${channel} stayed on although off was sent; its protection was not cleared`);
    const clears = [driver.overVoltage?.clear, driver.overCurrent?.clear].filter((each) => each !== undefined);
    await session.exclusive(async (turn) => {
      // One that restores in spite of the off then does so at zero volts.
      await speech.tell(turn, driver.operations.setVolts, channel, 0);
      for (const each of new Set(clears)) await speech.tell(turn, each, channel);
      await drainErrors(turn, { name: session.name, askError: driver.askError });
    });
    await mustBeOff(`clearing the protection switched channel ${channel} on; it was cut, and its state is unknown`);
  }
}
