import type { HostDevice, HostLook } from "../../shared/record/host-look.ts";
import { counted } from "../../shared/words/counted.ts";
import { pciConfigOf } from "./pci-config.ts";

/** A device's first line: `01:00.0 VGA compatible controller [0300]: Maker Name [1234:1111] (rev a1)`, also `Class 0300: Device 1234:1111`. */
const FIRST = /^(?:([0-9a-f]{4,8}):)?([0-9a-f]{2}:[0-9a-f]{2}\.[0-7]) (\S.*)$/;
const DUMP = /^\s*([0-9a-f]{1,3}0): ((?:[0-9a-f]{2} ?){16})\s*$/;
/** The mark before each line of an answer quoted in a mail. */
const QUOTED = /^(?:> ?)+/;
const BRIDGE = "0604";

/** Whether a text is one that `lspci` wrote: it has a device's line with an indented line below it. */
export function isLspciText(text: string): boolean {
  return devicesIn(text).some(({ lines }) =>
    lines.some((line) => /^\s*(Subsystem|Control|Capabilities|Region)\b/.test(line)),
  );
}

/**
 * A look from what `lspci -vvnn -xxxx` printed on any host, also as text that was quoted in a mail. Registers are read from the
 * bytes where they are there, otherwise from the words. What the text does not say is null; totals of errors it never says.
 * null where no device can be found, or none says its vendor and device.
 */
export function lookFromLspci(text: string): HostLook | null {
  const found = devicesIn(text);
  const devices = found.flatMap((each) => deviceOf(each) ?? []);
  if (devices.length === 0) return null;
  const nameless = found.length - devices.length;
  return {
    format: "firstamp-host-look",
    version: 1,
    lookedAt: null,
    source: "lspci",
    kernel: null,
    rescanned: false,
    notes: [
      ...(nameless > 0
        ? [
            `${counted(nameless, "device in the text has", "devices in the text have")} no vendor and device numbers; lspci -nn or -xxxx prints them`,
          ]
        : []),
      ...(/<access denied>/.test(text)
        ? ["The text was made without permission to read capabilities; run lspci as root"]
        : []),
    ],
    devices,
  };
}

interface TextDevice {
  address: string;
  first: string;
  lines: string[];
  bytes: Uint8Array;
}

function devicesIn(text: string): TextDevice[] {
  const devices: TextDevice[] = [];
  for (const raw of text.split(/\r?\n/)) {
    const line = raw.replace(QUOTED, "");
    const first = FIRST.exec(line);
    if (first !== null) {
      const [, domain = "0000", place = "", rest = ""] = first;
      devices.push({ address: `${domain}:${place}`, first: rest, lines: [], bytes: new Uint8Array(0) });
      continue;
    }
    const last = devices.at(-1);
    if (last === undefined) continue;
    const dump = DUMP.exec(line);
    if (dump === null) last.lines.push(line);
    else takeBytes(last, Number.parseInt(dump[1] ?? "", 16), dump[2] ?? "");
  }
  return devices;
}

/** A dump that leaves out a part ends there: bytes must not be taken for those of another place. */
function takeBytes(device: TextDevice, at: number, text: string): void {
  if (at !== device.bytes.length || at >= 4096) return;
  const grown = new Uint8Array(at + 16);
  grown.set(device.bytes);
  grown.set(
    text
      .trim()
      .split(" ")
      .map((each) => Number.parseInt(each, 16)),
    at,
  );
  device.bytes = grown;
}

function deviceOf({ address, first, lines, bytes }: TextDevice): HostDevice | null {
  const said = (pattern: RegExp): RegExpExecArray | null => {
    for (const line of lines) {
      const found = pattern.exec(line);
      if (found !== null) return found;
    }
    return null;
  };
  const config = pciConfigOf(bytes);
  const ids = /\[([0-9a-f]{4}):([0-9a-f]{4})\]/.exec(first) ?? /\bDevice ([0-9a-f]{4}):([0-9a-f]{4})/.exec(first);
  const vendor = config?.vendor ?? ids?.[1];
  const device = config?.device ?? ids?.[2];
  if (vendor === undefined || device === undefined) return null;
  const kind = /\[([0-9a-f]{4})\]:/.exec(first)?.[1] ?? /^Class ([0-9a-f]{4})\b/.exec(first)?.[1] ?? "0000";
  const interfaceCode = /\(prog-if ([0-9a-f]{2})/.exec(first)?.[1] ?? "00";
  const subsystem = said(/Subsystem:.*?\[?([0-9a-f]{4}):([0-9a-f]{4})\]?\s*$/);
  const capable = said(/LnkCap:.*?Speed (\S+?)(?:GT\/s)?, Width x(\d+)/);
  const now = said(/LnkSta:.*?Speed (\S+?)(?:GT\/s)?(?: \(\w+\))?, Width x(\d+)/);
  const regions = lines.filter((line) => /^\s*(Region \d|Expansion ROM)\b/.test(line));
  return {
    address,
    vendor,
    device,
    class: config?.class ?? `${kind}${interfaceCode}`,
    revision: config?.revision ?? /\(rev ([0-9a-f]{2})\)/.exec(first)?.[1] ?? null,
    subsystemVendor: config?.subsystemVendor ?? subsystem?.[1] ?? null,
    subsystemDevice: config?.subsystemDevice ?? subsystem?.[2] ?? null,
    driver: said(/Kernel driver in use: (\S+)/)?.[1] ?? null,
    link: config?.link ?? {
      speedGt: numberOf(now?.[1]),
      width: numberOf(now?.[2]),
      maxSpeedGt: numberOf(capable?.[1]),
      maxWidth: numberOf(capable?.[2]),
    },
    aer: { correctable: null, nonfatal: null, fatal: null },
    errorBits: config?.errorBits ?? errorWords(lines),
    optionRom: lines.length === 0 ? null : regions.some((line) => /Expansion ROM at/.test(line)),
    unassignedRegions: lines.length === 0 ? null : regions.filter((line) => /<(unassigned|ignored)>/.test(line)).length,
    port: config?.port ?? portWords(kind, lines, said),
  };
}

const numberOf = (text: string | undefined): number | null =>
  text === undefined || !Number.isFinite(Number(text)) ? null : Number(text);

/** Flags that stand in `UESta:` and `CESta:`, which may go over several lines; null where the text has neither. */
function errorWords(lines: readonly string[]): string[] | null {
  let isStatus = false;
  let isThere = false;
  const bits = new Set<string>();
  for (const line of lines) {
    const label = /^\s*(\w+):/.exec(line)?.[1];
    if (label !== undefined) isStatus = label === "UESta" || label === "CESta";
    if (!isStatus) continue;
    isThere = true;
    for (const [, name = ""] of line.matchAll(/\b(\w+)\+/g)) bits.add(name);
  }
  return isThere ? [...bits] : null;
}

function portWords(
  kind: string,
  lines: readonly string[],
  said: (pattern: RegExp) => RegExpExecArray | null,
): HostDevice["port"] {
  if (kind !== BRIDGE) return null;
  const hasSlot = lines.some((line) => /Express .*\(Slot\+\)/.test(line));
  // The sentence "Changed: MRL- PresDet-" below it is about what changed.
  const presence = said(/SltSta:.*PresDet([+-])/)?.[1];
  const reports = said(/LLActRep([+-])/)?.[1] === "+";
  const active = said(/DLActive([+-])/)?.[1];
  const bus = said(/secondary=([0-9a-f]{2})/)?.[1];
  return {
    secondaryBus: bus === undefined ? null : Number.parseInt(bus, 16),
    presence: hasSlot && presence !== undefined ? (presence === "+" ? "present" : "absent") : null,
    linkActive: reports && active !== undefined ? active === "+" : null,
  };
}
