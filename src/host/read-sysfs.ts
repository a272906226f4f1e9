import { existsSync, readdirSync, readFileSync, readlinkSync } from "node:fs";
import { basename, join } from "node:path";
import type { HostDevice, HostLook } from "../../shared/record/host-look.ts";
import { pciConfigOf } from "./pci-config.ts";

const ADDRESS = /^[0-9a-f]{4,8}:[0-9a-f]{2}:[0-9a-f]{2}\.[0-7]$/;
const BRIDGE_CLASS = "0604";
/** Flags of a line of `resource`: memory or ports, and "no address was given" (Linux include/linux/ioport.h). */
const MEMORY_OR_PORTS = 0x300n;
const UNSET = 0x20000000n;
/** The lines of `resource` that are the device's own regions; the seventh is its ROM. */
const REGIONS = 6;

/**
 * The kernel's account of every PCI device under `root` ("/sys"), by the ABI documents `sysfs-bus-pci` and
 * `sysfs-bus-pci-devices-aer_stats`. Changes nothing. Without root's rights a port's slot is not read, and a note says so. Throws
 * an Error where there is no PCI bus under `root`.
 */
export function readSysfs(root: string): HostLook {
  const folder = join(root, "bus", "pci", "devices");
  if (!existsSync(folder)) {
    throw new Error(
      `Cannot look at the PCI devices: the folder ${folder} does not exist; this should be a Linux host with a PCI bus`,
    );
  }
  const read = readdirSync(folder)
    .filter((name) => ADDRESS.test(name))
    .sort()
    .map((name) => readDevice(join(folder, name), name));
  const devices = read.flatMap((each) => each ?? []);
  const unread = read.length - devices.length;
  const isShort = devices.some(
    (each) => each.port !== null && each.port.linkActive === null && each.link.width !== null,
  );
  return {
    format: "firstamp-host-look",
    version: 1,
    lookedAt: new Date().toISOString(),
    source: "sysfs",
    kernel: root === "/sys" ? textOf("/proc/sys/kernel/osrelease") : null,
    rescanned: false,
    notes: [
      ...(unread > 0 ? [`${unread} devices disappeared while they were read, or do not say what they are`] : []),
      ...(isShort
        ? ["Not every port could be asked whether its slot holds a card: that needs root, and a port that reports it"]
        : []),
    ],
    devices,
  };
}

function textOf(file: string): string | null {
  try {
    return readFileSync(file, "utf8").trim();
  } catch {
    return null;
  }
}

/** Digits of "0x10de" with the width they should have; null for anything else. */
function hexOf(file: string, digits: number): string | null {
  const text = textOf(file);
  const found = text === null ? null : /^(?:0x)?([0-9a-f]+)$/i.exec(text);
  return found === null ? null : (found[1] ?? "").toLowerCase().padStart(digits, "0").slice(-digits);
}

function readDevice(folder: string, address: string): HostDevice | null {
  const at = (name: string): string => join(folder, name);
  const vendor = hexOf(at("vendor"), 4);
  const device = hexOf(at("device"), 4);
  const kind = hexOf(at("class"), 6);
  if (vendor === null || device === null || kind === null) return null;
  const config = configOf(at("config"));
  return {
    address,
    vendor,
    device,
    class: kind,
    revision: hexOf(at("revision"), 2),
    subsystemVendor: hexOf(at("subsystem_vendor"), 4),
    subsystemDevice: hexOf(at("subsystem_device"), 4),
    driver: driverOf(at("driver")),
    link: {
      speedGt: speedOf(textOf(at("current_link_speed"))),
      width: numberOf(textOf(at("current_link_width"))),
      maxSpeedGt: speedOf(textOf(at("max_link_speed"))),
      maxWidth: numberOf(textOf(at("max_link_width"))),
    },
    aer: {
      correctable: totalOf(textOf(at("aer_dev_correctable"))),
      nonfatal: totalOf(textOf(at("aer_dev_nonfatal"))),
      fatal: totalOf(textOf(at("aer_dev_fatal"))),
    },
    errorBits: config?.errorBits ?? null,
    optionRom: existsSync(at("rom")),
    unassignedRegions: unassignedOf(textOf(at("resource"))),
    port: portOf(kind, at, config?.port ?? null),
  };
}

function configOf(file: string): ReturnType<typeof pciConfigOf> {
  try {
    return pciConfigOf(readFileSync(file));
  } catch {
    return null;
  }
}

function portOf(kind: string, at: (name: string) => string, fromConfig: HostDevice["port"]): HostDevice["port"] {
  if (!kind.startsWith(BRIDGE_CLASS)) return null;
  const bus = numberOf(textOf(at("secondary_bus_number")));
  return {
    secondaryBus: bus ?? fromConfig?.secondaryBus ?? null,
    presence: fromConfig?.presence ?? null,
    linkActive: fromConfig?.linkActive ?? null,
  };
}

function driverOf(link: string): string | null {
  try {
    return basename(readlinkSync(link)).slice(0, 200);
  } catch {
    return null;
  }
}

/** "8.0 GT/s PCIe" as 8; "Unknown" as null. */
const speedOf = (text: string | null): number | null => numberOf(/^([\d.]+) GT\/s/.exec(text ?? "")?.[1] ?? null);

function numberOf(text: string | null): number | null {
  if (text === null || !/^\d+(\.\d+)?$/.test(text)) return null;
  return Number(text);
}

/** The line `TOTAL_ERR_… n` of an error statistic. */
const totalOf = (text: string | null): number | null =>
  numberOf(/^TOTAL_ERR_\w+ (\d+)$/m.exec(text ?? "")?.[1] ?? null);

/** The number of the device's regions that are wanted and have no address. */
function unassignedOf(text: string | null): number | null {
  if (text === null) return null;
  return text
    .split("\n")
    .slice(0, REGIONS)
    .filter((line) => {
      const [start, , flags] = line.split(" ");
      if (start === undefined || flags === undefined || !/^0x[0-9a-f]+$/.test(flags)) return false;
      const set = BigInt(flags);
      return (set & MEMORY_OR_PORTS) !== 0n && ((set & UNSET) !== 0n || /^0x0+$/.test(start));
    }).length;
}
