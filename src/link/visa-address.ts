import { isIP, isIPv6 } from "node:net";
import { BenchError, quoted } from "../../shared/bench-error.ts";
import { linkPlatformOf } from "./link-platform.ts";

/** The address of an instrument, of the kinds this program speaks. `vendor` and `product` are USB's 16-bit numbers. */
export type VisaAddress =
  | { kind: "serial"; path: string }
  | { kind: "socket"; host: string; port: number }
  | { kind: "usbtmc"; vendor: number; product: number; serialNumber?: string };

const EXAMPLES =
  "an address looks like ASRL/dev/ttyUSB0::INSTR, TCPIP0::192.0.2.20::5025::SOCKET or USB0::0x1234::0x5678::SERIAL::INSTR";

/** Whether an address names a serial port; the rest of it may be wrong. */
export const isSerial = (address: string): boolean => /^ASRL/i.test(address.trim());

/**
 * Reads a VISA resource name (VPP-4.3: no difference between small and capital letters in its words; board numbers are
 * read and not used). Paths and USB serial numbers keep their spelling. `ASRL1` is the first on-board port (from memory:
 * /dev/ttyS0, COM1 on Windows). Throws BenchError "bad-address", also for VXI-11 and HiSLIP, which are not spoken.
 */
export function parseVisaAddress(text: string, platform?: string): VisaAddress {
  const trimmed = text.trim();
  if (isSerial(text)) return parseSerial(trimmed, platform);
  const [head = "", ...parts] = splitParts(trimmed);
  if (/^TCPIP\d*$/i.test(head)) return parseTcp(text, parts);
  if (/^USB\d*$/i.test(head)) return parseUsb(text, parts);
  throw bad(text, `it should begin with ASRL, TCPIP or USB; ${EXAMPLES}`);
}

/** Writes an address in its canonical spelling, which `parseVisaAddress` reads back to the same. */
export function formatVisaAddress(address: VisaAddress): string {
  switch (address.kind) {
    case "serial":
      return `ASRL${address.path}::INSTR`;
    case "socket": {
      const host = isIPv6(address.host) ? `[${address.host}]` : address.host;
      return `TCPIP0::${host}::${address.port}::SOCKET`;
    }
    case "usbtmc": {
      const serial = address.serialNumber === undefined ? "" : `::${address.serialNumber}`;
      return `USB0::${hex(address.vendor)}::${hex(address.product)}${serial}::INSTR`;
    }
  }
}

function parseSerial(text: string, platform: string | undefined): VisaAddress {
  const place = text.slice(4).replace(/::INSTR$/i, "");
  if (/^[1-9]\d{0,2}$/.test(place)) {
    const number = Number(place);
    return { kind: "serial", path: linkPlatformOf(platform).portPath(number) };
  }
  if (/^COM[1-9]\d{0,2}$/i.test(place)) return { kind: "serial", path: place.toUpperCase() };
  // A byte of 0 ends a path for the system, and "::" means that a part is wrong or one too many.
  if (/^\/[^\0]+$/.test(place) && !place.includes("::")) return { kind: "serial", path: place };
  throw bad(
    text,
    "after ASRL there should be a port's full path or its number, then ::INSTR, as in ASRL/dev/ttyUSB0::INSTR",
  );
}

function parseTcp(text: string, parts: string[]): VisaAddress {
  const [host = "", second, last, ...rest] = parts;
  const protocol = last?.toUpperCase() ?? (/^SOCKET$/i.test(second ?? "") ? "SOCKET" : "INSTR");
  if (protocol === "INSTR" && rest.length === 0 && host !== "") {
    const name = /^hislip/i.test(second ?? "") ? "HiSLIP" : "VXI-11";
    throw bad(
      text,
      `this is ${name}, which firstamp does not support: use the instrument's raw socket, often port 5025, as in TCPIP0::${host}::5025::SOCKET`,
    );
  }
  if (protocol !== "SOCKET" || rest.length > 0) {
    throw bad(text, "it should be TCPIP, host, port and SOCKET, as in TCPIP0::192.0.2.20::5025::SOCKET");
  }
  const port = /^\d{1,5}$/.test(second ?? "") ? Number(second) : 0;
  if (port < 1 || port > 65535) {
    throw bad(
      text,
      `the port is ${quoted(second ?? "")}; it should be a number from 1 to 65535, as in TCPIP0::${host}::5025::SOCKET`,
    );
  }
  return { kind: "socket", host: parseHost(text, host), port };
}

function parseHost(text: string, host: string): string {
  const inside = /^\[(.*)\]$/.exec(host)?.[1];
  if (inside !== undefined) {
    if (isIPv6(inside)) return inside.toLowerCase();
    throw bad(text, `${quoted(inside)} in brackets should be an IPv6 address`);
  }
  if (isIP(host) === 4) return host;
  // Digits and dots alone are a mistyped IPv4 address, never a name.
  if (/^[a-z0-9]([a-z0-9._-]*[a-z0-9])?\.?$/i.test(host) && host.length <= 253 && !/^[\d.]+$/.test(host)) {
    return host.toLowerCase();
  }
  throw bad(text, `the host is ${quoted(host)}; it should be a name, an IPv4 address or an IPv6 address in brackets`);
}

function parseUsb(text: string, parts: string[]): VisaAddress {
  const kept = /^INSTR$/i.test(parts.at(-1) ?? "") ? parts.slice(0, -1) : parts;
  if (/^RAW$/i.test(kept.at(-1) ?? "") || kept.length < 2 || kept.length > 4) {
    throw bad(
      text,
      "it should be USB, vendor, product, serial number and INSTR, as in USB0::0x1234::0x5678::SERIAL::INSTR",
    );
  }
  const [vendor, product] = [kept[0], kept[1]].map((part) => {
    const number = /^(0x[0-9a-f]{1,4}|\d{1,5})$/i.test(part ?? "") ? Number(part) : Number.NaN;
    if (number >= 0 && number <= 0xffff) return number;
    throw bad(text, `the vendor or product is ${quoted(part ?? "")}; each should be a 16-bit number such as 0x1234`);
  }) as [number, number];
  const serialNumber = kept[2];
  // A fourth part is the USB interface number, which the kernel has already chosen.
  if (kept[3] !== undefined && !/^\d{1,3}$/.test(kept[3])) {
    throw bad(text, `the USB interface is ${quoted(kept[3])}; it should be a small number or left out`);
  }
  return { kind: "usbtmc", vendor, product, ...(serialNumber ? { serialNumber } : {}) };
}

/** Splits at "::", but not inside the brackets of an IPv6 address. */
function splitParts(text: string): string[] {
  return text.split(/::(?![^[]*\])/);
}

const hex = (number: number) => `0x${number.toString(16).toUpperCase().padStart(4, "0")}`;

function bad(text: string, should: string): BenchError {
  return new BenchError("bad-address", `Cannot use address ${quoted(text)}: ${should}`, { detail: { address: text } });
}
