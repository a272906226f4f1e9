import type { BoardHost } from "../../../shared/files/board-file.ts";
import type { HostDevice, HostLook } from "../../../shared/record/host-look.ts";

/** The place of the board in a look: the port it is behind and its first function; null where it cannot be told or is not listed. */
export interface BoardInLook {
  port: HostDevice | null;
  device: HostDevice | null;
  /** All functions of the board that are listed. */
  functions: HostDevice[];
}

const busOf = (address: string): number => Number.parseInt(address.split(":").at(-2) ?? "", 16);
const domainOf = (address: string): string => address.split(":")[0] ?? "";
const slotOf = (address: string): string => address.slice(0, address.lastIndexOf("."));
export const idOf = ({ vendor, device }: HostDevice): string => `${vendor}:${device}`;

/**
 * Finds the board by the port it was put in (a bridge, or the address it takes itself), otherwise by the ids its board file
 * names. Without either nothing is found: a host has many devices, and a guess could judge another card.
 */
export function boardInLook(
  { devices }: HostLook,
  { port, host }: { port: string | null; host: BoardHost | null },
): BoardInLook {
  const nothing: BoardInLook = { port: null, device: null, functions: [] };
  if (port !== null) {
    const named = devices.find((each) => each.address === port);
    if (named?.port?.secondaryBus != null) {
      const behind = named.port.secondaryBus;
      const functions = devices.filter(
        ({ address }) => domainOf(address) === domainOf(port) && busOf(address) === behind,
      );
      return { port: named, device: functions[0] ?? null, functions };
    }
    return (
      of(
        devices,
        devices.filter((each) => slotOf(each.address) === slotOf(port)),
      ) ?? nothing
    );
  }
  if (host === null) return nothing;
  const ids = [...host.ids, ...(host.bareIds ?? [])];
  const found = devices.find((each) => ids.includes(idOf(each)));
  if (found === undefined) return nothing;
  return (
    of(
      devices,
      devices.filter((each) => slotOf(each.address) === slotOf(found.address)),
    ) ?? nothing
  );
}

function of(devices: readonly HostDevice[], functions: HostDevice[]): BoardInLook | null {
  const device = functions[0];
  if (device === undefined) return null;
  const port = devices.find(
    (each) => each.port?.secondaryBus === busOf(device.address) && domainOf(each.address) === domainOf(device.address),
  );
  return { port: port ?? null, device, functions };
}
