import type { Clock } from "../../shared/clock.ts";
import type { SerialSettings } from "../../shared/files/bench-file.ts";
import type { Link } from "./link.ts";
import { openSerialLink } from "./serial-link.ts";
import { serialPort } from "./serial-port.ts";
import { openSocketLink } from "./socket-link.ts";
import { openUsbtmcLink } from "./usbtmc-link.ts";
import { formatVisaAddress, isSerial, parseVisaAddress } from "./visa-address.ts";

export interface OpenLinkOptions {
  /** A VISA resource name. */
  address: string;
  /** Used for a serial port only. */
  serial?: SerialSettings;
  clock: Clock;
  /** Longest wait for the connection, ms; 3000 by default. */
  deadlineMs?: number;
  /** Whether a serial port in use is searched for its holder, up to 500 ms; true by default. False where each ms counts. */
  findsHolder?: boolean;
  /** True where blocks of bytes will come, which a serial line must not mark; false by default. */
  isRaw?: boolean;
}

/**
 * Loads the code that a link to this address needs, so that a later `openLink` loses no time with it. Throws what `require` throws where the
 * program is not installed whole.
 */
export function loadForOpening(address: string): void {
  if (isSerial(address)) serialPort();
}

/**
 * Opens the link an address names. Nothing is written and nothing is tried twice. Throws BenchError "bad-address",
 * "no-such-port", "no-permission", "port-in-use", "connection-refused", "bad-input" (serial settings) or "no-reply", and what
 * `loadForOpening` throws.
 */
export async function openLink({
  address,
  serial,
  clock,
  deadlineMs = 3000,
  findsHolder = true,
  isRaw = false,
}: OpenLinkOptions): Promise<Link> {
  const parsed = parseVisaAddress(address);
  const common = { address: formatVisaAddress(parsed), clock, deadlineMs };
  switch (parsed.kind) {
    case "serial":
      return openSerialLink({
        ...common,
        path: parsed.path,
        findsHolder,
        isRaw,
        ...(serial === undefined ? {} : { settings: serial }),
      });
    case "socket":
      return openSocketLink({ ...common, ...parsed });
    case "usbtmc":
      return openUsbtmcLink({ ...common, ...parsed });
  }
}
