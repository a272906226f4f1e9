import type { HostLink, HostPort } from "../../shared/record/host-look.ts";

/** The facts in the configuration space of one device; null for what lies beyond the bytes that could be read. */
export interface PciConfig {
  vendor: string;
  device: string;
  class: string;
  revision: string;
  subsystemVendor: string | null;
  subsystemDevice: string | null;
  link: HostLink | null;
  port: HostPort | null;
  errorBits: string[] | null;
}

const HEADER_BYTES = 64;
const CAPABILITY = { bridgeSubsystem: 0x0d, express: 0x10 };
const EXTENDED_ERRORS = 0x0001;
/** Link speeds by their code (PCI Express Base Specification 6.0, 7.5.3.6), gigatransfers a second. */
const SPEEDS_GT = [null, 2.5, 5, 8, 16, 32, 64];
/** Kinds of port that lead to a slot or a device: root port, downstream port of a switch (7.5.3.2). */
const DOWNSTREAM = [4, 6];

/** Bits of the correctable error status (7.8.4.5), by the names lspci prints. */
const CORRECTABLE: [bit: number, name: string][] = [
  [0, "RxErr"],
  [6, "BadTLP"],
  [7, "BadDLLP"],
  [8, "Rollover"],
  [12, "Timeout"],
  [13, "AdvNonFatalErr"],
];
/** Bits of the uncorrectable error status (7.8.4.2). */
const UNCORRECTABLE: [bit: number, name: string][] = [
  [4, "DLP"],
  [5, "SDES"],
  [12, "TLP"],
  [13, "FCP"],
  [14, "CmpltTO"],
  [15, "CmpltAbrt"],
  [16, "UnxCmplt"],
  [17, "RxOF"],
  [18, "MalfTLP"],
  [19, "ECRC"],
  [20, "UnsupReq"],
  [21, "ACSViol"],
];

/**
 * Reads a configuration space of 64 bytes (what everybody may read), 256 or 4096. Registers as in PCI Local Bus 3.0, 6.1 and
 * PCI Express Base Specification 6.0, 7.5 and 7.8. null for fewer than 64 bytes, or where no device answers (all ones).
 */
export function pciConfigOf(bytes: Uint8Array): PciConfig | null {
  if (bytes.length < HEADER_BYTES) return null;
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const word = (at: number): number => view.getUint16(at, true);
  const hex = (value: number, digits: number): string => value.toString(16).padStart(digits, "0");
  if (word(0) === 0xffff) return null;
  const isBridge = (view.getUint8(0x0e) & 0x7f) === 1;
  const capabilities = capabilitiesOf(view);
  const subsystem = isBridge ? capabilities?.get(CAPABILITY.bridgeSubsystem) : 0x28;
  const subsystemAt = subsystem === undefined || subsystem + 8 > bytes.length ? null : subsystem + 4;
  const express = capabilities?.get(CAPABILITY.express);
  const hasExpress = express !== undefined && express + 0x1c <= bytes.length;
  return {
    vendor: hex(word(0), 4),
    device: hex(word(2), 4),
    class: hex(view.getUint32(8, true) >>> 8, 6),
    revision: hex(view.getUint8(8), 2),
    subsystemVendor: subsystemAt === null ? null : hex(word(subsystemAt), 4),
    subsystemDevice: subsystemAt === null ? null : hex(word(subsystemAt + 2), 4),
    link: hasExpress ? linkAt(view, express) : null,
    port: isBridge ? portAt(view, hasExpress ? express : null) : null,
    errorBits: errorBitsOf(view),
  };
}

/** The place where each capability begins; null where the list lies beyond the bytes that were read. */
function capabilitiesOf(view: DataView): Map<number, number> | null {
  const hasList = (view.getUint16(0x06, true) & 0x10) !== 0;
  const found = new Map<number, number>();
  if (!hasList) return found;
  if (view.byteLength <= HEADER_BYTES) return null;
  // The list is a chain of offsets in 256 bytes; one that runs in a circle ends here.
  const seen = new Set<number>();
  for (let at = view.getUint8(0x34) & 0xfc; at >= HEADER_BYTES && at + 2 <= view.byteLength && !seen.has(at); ) {
    seen.add(at);
    const id = view.getUint8(at);
    if (!found.has(id)) found.set(id, at);
    at = view.getUint8(at + 1) & 0xfc;
  }
  return found;
}

function linkAt(view: DataView, at: number): HostLink {
  const capable = view.getUint32(at + 0x0c, true);
  const now = view.getUint16(at + 0x12, true);
  return {
    speedGt: SPEEDS_GT[now & 0x0f] ?? null,
    width: (now >> 4) & 0x3f,
    maxSpeedGt: SPEEDS_GT[capable & 0x0f] ?? null,
    maxWidth: (capable >> 4) & 0x3f,
  };
}

function portAt(view: DataView, express: number | null): HostPort {
  const secondaryBus = view.getUint8(0x19);
  if (express === null) return { secondaryBus, presence: null, linkActive: null };
  const flags = view.getUint16(express + 2, true);
  const isDownstream = DOWNSTREAM.includes((flags >> 4) & 0x0f);
  const hasSlot = isDownstream && (flags & 0x100) !== 0;
  const reportsActive = isDownstream && (view.getUint32(express + 0x0c, true) & (1 << 20)) !== 0;
  return {
    secondaryBus,
    presence: hasSlot ? ((view.getUint16(express + 0x1a, true) & 0x40) === 0 ? "absent" : "present") : null,
    linkActive: reportsActive ? (view.getUint16(express + 0x12, true) & 0x2000) !== 0 : null,
  };
}

/** The error bits that stand; null where the extended space was not read or has no such register. */
function errorBitsOf(view: DataView): string[] | null {
  const seen = new Set<number>();
  for (let at = 0x100; at >= 0x100 && at + 0x14 <= view.byteLength && !seen.has(at); ) {
    seen.add(at);
    const head = view.getUint32(at, true);
    if (head === 0 || head === 0xffffffff) return null;
    if ((head & 0xffff) === EXTENDED_ERRORS) {
      const bad = view.getUint32(at + 4, true);
      const corrected = view.getUint32(at + 0x10, true);
      const names = (value: number, of: typeof CORRECTABLE) =>
        of.flatMap(([bit, name]) => ((value >>> bit) & 1 ? [name] : []));
      return [...names(bad, UNCORRECTABLE), ...names(corrected, CORRECTABLE)];
    }
    at = head >>> 20;
  }
  return null;
}
