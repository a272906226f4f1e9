import { access, readdir, readFile, realpath } from "node:fs/promises";
import type { Clock } from "../../shared/clock.ts";
import { realClock } from "../system/real-clock.ts";
import { thisLinkPlatform } from "./link-platform.ts";
import { serialPort } from "./serial-port.ts";
import { usbtmcDevices } from "./usbtmc-devices.ts";
import { formatVisaAddress } from "./visa-address.ts";
import { within } from "./within.ts";

/** An address at which an instrument may be; nothing was opened to find out. */
export interface LinkCandidate {
  address: string;
  /** The system's name for it, for a person; may be empty. */
  words: string;
}

interface Port {
  path: string;
  words: string;
}

export interface ListLinksOptions {
  clock?: Clock;
  sysRoot?: string;
  devRoot?: string;
  /** The system's own listing of serial ports, or undefined where it has none that can be trusted. */
  listPorts?: () => Promise<Port[] | undefined>;
}

const LIST_WITHIN_MS = 3000;

/**
 * Addresses of this machine's serial ports and USB instruments. A serial port has its name by id where it has one, which
 * stays the same when it is plugged in again. Never throws; what takes longer than 3 s is left out.
 */
export async function listLinks(options: ListLinksOptions = {}): Promise<LinkCandidate[]> {
  const { clock = realClock, sysRoot = "/sys", devRoot = "/dev" } = options;
  const none = () => [];
  const [ports, usb] = await Promise.all([
    within(clock, LIST_WITHIN_MS, serialPorts(options, sysRoot, devRoot), none).catch(none),
    within(clock, LIST_WITHIN_MS, usbtmcDevices(sysRoot), none).catch(none),
  ]);
  return [
    ...ports.map(({ path, words }) => ({ address: formatVisaAddress({ kind: "serial", path }), words })),
    ...usb.map(({ vendor, product, serialNumber, words }) => ({
      address: formatVisaAddress({
        kind: "usbtmc",
        vendor,
        product,
        ...(serialNumber === undefined ? {} : { serialNumber }),
      }),
      words,
    })),
  ];
}

async function serialPorts(options: ListLinksOptions, sysRoot: string, devRoot: string): Promise<Port[]> {
  const [listed, byId] = await Promise.all([listedPorts(options), namesById(devRoot)]);
  const ports = listed ?? (await portsFromSysfs(sysRoot, devRoot));
  const real = await Promise.all(ports.map(async (port) => ((await isNoInstrument(sysRoot, port.path)) ? [] : [port])));
  return real.flat().map((port) => ({ ...port, path: byId.get(port.path) ?? port.path }));
}

/** The library's listing. It runs udevadm: missing, it rejects; failing, it may say "none"; hung, it never settles. */
async function listedPorts({
  clock = realClock,
  listPorts = libraryPorts,
}: ListLinksOptions): Promise<Port[] | undefined> {
  const listing = listPorts();
  // Shorter than the whole listing has, so that sysfs still gets its turn.
  const ports = await within<Port[] | undefined>(clock, LIST_WITHIN_MS / 2, listing, () => undefined).catch(
    () => undefined,
  );
  return ports?.length === 0 ? undefined : ports;
}

async function libraryPorts(): Promise<Port[] | undefined> {
  if (thisLinkPlatform.listsByUdev && !(await hasUdevadm())) return undefined;
  const ports = await serialPort().list();
  return ports.map(({ path, manufacturer, pnpId }) => ({ path, words: manufacturer ?? pnpId ?? "" }));
}

async function hasUdevadm(): Promise<boolean> {
  const folders = (process.env["PATH"] ?? "").split(":").filter((folder) => folder !== "");
  const found = await Promise.all(
    folders.map((folder) =>
      access(`${folder}/udevadm`).then(
        () => true,
        () => false,
      ),
    ),
  );
  return found.includes(true);
}

async function namesById(devRoot: string): Promise<Map<string, string>> {
  const folder = `${devRoot}/serial/by-id`;
  const names = (await readdir(folder).catch(() => [])).sort();
  const pairs = await Promise.all(
    names.map(async (name) => [await realpath(`${folder}/${name}`).catch(() => ""), `${folder}/${name}`] as const),
  );
  return new Map(pairs.filter(([device]) => device !== ""));
}

async function portsFromSysfs(sysRoot: string, devRoot: string): Promise<Port[]> {
  const folder = `${sysRoot}/class/tty`;
  const names = await readdir(folder).catch(() => []);
  const ports = await Promise.all(
    names.map(async (name) => {
      // Consoles and ptys have no device behind them.
      const driver = await realpath(`${folder}/${name}/device/driver`).catch(() => undefined);
      return driver === undefined ? [] : [{ path: `${devRoot}/${name}`, words: driver.split("/").at(-1) ?? "" }];
    }),
  );
  return ports.flat().sort((one, other) => one.path.localeCompare(other.path, "en", { numeric: true }));
}

/**
 * On-board ports that the kernel names but found no hardware for: their type is 0 (PORT_UNKNOWN, serial_core.h, from
 * memory); and the one the system's own console is on, where a question would be typed at a log-in prompt.
 */
async function isNoInstrument(sysRoot: string, path: string): Promise<boolean> {
  const read = (file: string) =>
    readFile(`${sysRoot}/class/tty/${path.split("/").at(-1)}/${file}`, "utf8").then(
      (text) => text.trim(),
      () => "",
    );
  const [type, console] = await Promise.all([read("type"), read("console")]);
  return type === "0" || console === "Y";
}
