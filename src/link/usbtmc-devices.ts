import { readdir, readFile } from "node:fs/promises";

/** A USB instrument that the kernel's usbtmc driver has taken: `name` is its file under /dev. */
export interface UsbtmcDevice {
  name: string;
  vendor: number;
  product: number;
  serialNumber: string | undefined;
  /** Maker's and product's words as the device gives them; empty where it gives none. */
  words: string;
}

/** Which usbtmc devices the kernel has, from sysfs. Empty where there is none or no sysfs. */
export async function usbtmcDevices(sysRoot = "/sys"): Promise<UsbtmcDevice[]> {
  const folder = `${sysRoot}/class/usbmisc`;
  const names = (await readdir(folder).catch(() => [])).filter((name) => /^usbtmc\d+$/.test(name));
  const devices = await Promise.all(names.map((name) => readDevice(name, `${folder}/${name}/device`)));
  return devices
    .filter((device) => device !== undefined)
    .sort((one, other) => one.name.localeCompare(other.name, "en", { numeric: true }));
}

async function readDevice(name: string, usbInterface: string): Promise<UsbtmcDevice | undefined> {
  // The class entry leads to the interface; ids are with the device it belongs to, one folder up. A path that is joined
  // as text keeps its "..", which the kernel resolves after the link.
  const attribute = (file: string) =>
    readFile(`${usbInterface}/../${file}`, "utf8").then(
      (text) => text.trim(),
      () => "",
    );
  const [vendor, product, serial, maker, model] = await Promise.all(
    ["idVendor", "idProduct", "serial", "manufacturer", "product"].map(attribute),
  );
  if (!/^[0-9a-f]{4}$/i.test(vendor ?? "") || !/^[0-9a-f]{4}$/i.test(product ?? "")) return undefined;
  return {
    name,
    vendor: Number.parseInt(vendor ?? "", 16),
    product: Number.parseInt(product ?? "", 16),
    serialNumber: serial || undefined,
    words: [maker, model].filter(Boolean).join(" "),
  };
}
