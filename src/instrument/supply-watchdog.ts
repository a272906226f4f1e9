import type { SupplyDriver } from "../../shared/files/driver-file.ts";
import { drainErrors, errorsInWords } from "./error-queue.ts";
import type { InstrumentSession } from "./session.ts";
import { outputFrom } from "./settings.ts";
import type { Speech } from "./speech.ts";
import { supplyError } from "./supply-error.ts";

export interface SupplyWatchdogOptions {
  session: InstrumentSession;
  speech: Speech;
  driver: SupplyDriver;
  /** Whether this very supply understood the driver's question for it. */
  isThere: boolean;
}

/** A supply's own communication watchdog: it switches off by itself where nothing is said to it for some seconds. */
export class SupplyWatchdog {
  readonly #options: SupplyWatchdogOptions;

  constructor(options: SupplyWatchdogOptions) {
    this.#options = options;
  }

  /** Answers whether there is one. Throws BenchError "setting-refused" where it does not read back as armed. */
  async arm(seconds: number): Promise<boolean> {
    const { session, speech, driver, isThere } = this.#options;
    const { watchdog } = driver;
    if (watchdog === undefined || !isThere) return false;
    const { name } = session;
    const armed = await session.exclusive(async (turn) => {
      await speech.tell(turn, watchdog.set, 1, seconds);
      await speech.tell(turn, watchdog.on, 1);
      const errors = await drainErrors(turn, { name, askError: driver.askError });
      if (errors.length > 0) {
        const because = `the reply to the watchdog setting was the error ${errorsInWords(errors)}`;
        throw supplyError(name, "setting-refused", because);
      }
      return outputFrom((await speech.ask(turn, [watchdog.askOn], 1)).texts[0] ?? "");
    });
    if (armed !== "on") throw supplyError(name, "setting-refused", `the watchdog was armed but reads ${armed}`);
    return true;
  }

  async disarm(): Promise<void> {
    const { session, speech, driver, isThere } = this.#options;
    const { watchdog } = driver;
    if (watchdog === undefined || !isThere) return;
    await session.exclusive(async (turn) => {
      await speech.tell(turn, watchdog.off, 1);
      await drainErrors(turn, { name: session.name, askError: driver.askError });
    });
  }
}
