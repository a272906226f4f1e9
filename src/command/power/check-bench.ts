import { BenchError } from "../../../shared/bench-error.ts";
import type { BenchFile } from "../../../shared/files/bench-file.ts";
import type { DriverFile } from "../../../shared/files/driver-file.ts";
import { driverNamed } from "../../instrument/pick-driver.ts";
import { parseVisaAddress } from "../../link/visa-address.ts";

/**
 * Checks a bench file's addresses and drivers before anything is opened. Throws BenchError "bad-address" or
 * "unknown-driver" for the first that is none, naming the instrument.
 */
export function checkBench(bench: BenchFile, drivers: readonly DriverFile[]): void {
  for (const [name, entry] of Object.entries(bench.instruments)) {
    try {
      parseVisaAddress(entry.address);
      if (entry.driver !== "auto") driverNamed(entry.driver, entry.kind, drivers);
    } catch (cause) {
      if (!(cause instanceof BenchError)) throw cause;
      throw new BenchError(
        cause.code,
        `Cannot use ${entry.kind} "${name}" of the bench file: ${cause.message}; nothing was touched`,
        {
          instrument: name,
          detail: cause.detail,
          cause,
        },
      );
    }
  }
}
