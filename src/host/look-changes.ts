import type { HostChange, HostDevice, HostLook } from "../../shared/record/host-look.ts";

const linkText = ({ link }: HostDevice): string =>
  `${link.speedGt === null ? "?" : link.speedGt} GT/s x${link.width === null ? "?" : link.width}`;
const errorText = ({ aer }: HostDevice): string =>
  `${aer.correctable ?? "?"} correctable, ${aer.nonfatal ?? "?"} nonfatal, ${aer.fatal ?? "?"} fatal`;

/** The changes from one look to the next, in the order of the addresses; `at` is when the second was taken. */
export function changesBetween(before: HostLook, after: HostLook, at: string): HostChange[] {
  const old = new Map(before.devices.map((each) => [each.address, each]));
  const now = new Map(after.devices.map((each) => [each.address, each]));
  const changes: HostChange[] = [];
  for (const address of [...new Set([...old.keys(), ...now.keys()])].sort()) {
    const [was, is] = [old.get(address), now.get(address)];
    const changed = (what: HostChange["what"], from: string | null, to: string | null): void => {
      if (from !== to) changes.push({ event: "change", at, address, what, from, to });
    };
    const name = (each: HostDevice | undefined): string | null =>
      each === undefined ? null : `${each.vendor}:${each.device}`;
    if (was === undefined || is === undefined || name(was) !== name(is)) {
      changed(is === undefined ? "gone" : "appeared", name(was), name(is));
      continue;
    }
    changed("link", linkText(was), linkText(is));
    changed("errors", errorText(was), errorText(is));
    changed("driver", was.driver, is.driver);
    changed("presence", was.port?.presence ?? null, is.port?.presence ?? null);
  }
  return changes;
}
