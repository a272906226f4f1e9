import { BenchError } from "../../shared/bench-error.ts";
import type { Clock } from "../../shared/clock.ts";
import { type CharDevice, kernelDevice } from "./char-device.ts";
import { LineLink } from "./line-link.ts";
import { openError } from "./open-error.ts";
import { usbtmcDevices } from "./usbtmc-devices.ts";
import { UsbtmcWire } from "./usbtmc-wire.ts";
import { within } from "./within.ts";

export interface UsbtmcLinkOptions {
  vendor: number;
  product: number;
  serialNumber?: string;
  address: string;
  clock: Clock;
  deadlineMs: number;
  sysRoot?: string;
  devRoot?: string;
  device?: CharDevice;
}

/**
 * Opens a USB instrument by the kernel's usbtmc character device, found by its USB numbers and serial number; no serial
 * number will do where only one device fits. Throws BenchError "no-such-port", "no-permission", "port-in-use", and
 * "no-reply" when the kernel does not open it in time. The limits are told at `UsbtmcWire`.
 */
export async function openUsbtmcLink(options: UsbtmcLinkOptions): Promise<LineLink> {
  const { clock, deadlineMs, device = kernelDevice } = options;
  const path = `${options.devRoot ?? "/dev"}/${await nameOf(options)}`;
  const opening = device.open(path);
  let fd: number | undefined;
  try {
    fd = await within<number | undefined>(clock, deadlineMs, opening, () => undefined);
  } catch (cause) {
    throw await openError(path, cause, clock);
  }
  if (fd === undefined) {
    opening.then((late) => device.close(late)).catch(() => undefined);
    throw new BenchError(
      "no-reply",
      `Cannot open ${options.address}: the system did not open ${path} within ${deadlineMs} ms; nothing was sent`,
    );
  }
  let link: LineLink | undefined;
  const wire = new UsbtmcWire(device, fd, {
    message: (bytes) => {
      link?.received(bytes);
      link?.messageEnded();
    },
    lost: (closed) => link?.lost(closed),
  });
  link = new LineLink({ address: options.address, clock, wire });
  return link;
}

async function nameOf(options: UsbtmcLinkOptions): Promise<string> {
  const { serialNumber, clock, deadlineMs } = options;
  const devices = await within(clock, deadlineMs, usbtmcDevices(options.sysRoot), () => []);
  const fitting = devices.filter(
    (each) =>
      each.vendor === options.vendor &&
      each.product === options.product &&
      // VISA makes no difference between small and capital letters.
      (serialNumber === undefined || each.serialNumber?.toLowerCase() === serialNumber.toLowerCase()),
  );
  const [first, second] = fitting;
  if (first !== undefined && second === undefined) return first.name;
  if (first === undefined) {
    throw new BenchError(
      "no-such-port",
      `Cannot open ${options.address}: the kernel has no such USB instrument (it has ${devices.length} others); is it plugged in, switched on, and the usbtmc driver loaded? Nothing was sent`,
    );
  }
  const serials = fitting.map((each) => each.serialNumber ?? "without one").join(", ");
  throw new BenchError(
    "bad-address",
    `Cannot open ${options.address}: ${fitting.length} instruments fit; the address should hold the serial number of one (there: ${serials}); nothing was sent`,
  );
}
