import { mkdirSync, mkdtempSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";

/** A tree as the kernel shows it under /sys (ABI documents sysfs-bus-pci and sysfs-bus-pci-devices-aer_stats), to be changed. */
export class SysfsTree {
  readonly root = mkdtempSync(join(tmpdir(), "firstamp-sysfs-"));
  readonly #devices = join(this.root, "bus", "pci", "devices");

  constructor() {
    mkdirSync(this.#devices, { recursive: true });
    writeFileSync(join(this.root, "bus", "pci", "rescan"), "");
  }

  /** A device appears, with the files that are named; each ends in a line feed as the kernel's do. */
  add(address: string, files: Record<string, string>, driver: string | null = null): void {
    const folder = join(this.#devices, address);
    mkdirSync(folder);
    for (const [name, text] of Object.entries(files)) this.set(address, name, text);
    if (driver !== null) symlinkSync(`../../../bus/pci/drivers/${driver}`, join(folder, "driver"));
  }

  set(address: string, name: string, text: string): void {
    writeFileSync(join(this.#devices, address, name), `${text}\n`);
  }

  bytes(address: string, name: string, bytes: Uint8Array): void {
    writeFileSync(join(this.#devices, address, name), bytes);
  }

  go(address: string): void {
    rmSync(join(this.#devices, address), { recursive: true });
  }

  remove(): void {
    rmSync(this.root, { recursive: true, force: true });
  }
}

const errors = (kind: "COR" | "NONFATAL" | "FATAL", total: number): string =>
  `RxErr ${total}\nBadTLP 0\nTOTAL_ERR_${kind} ${total}`;

export const correctable = (total: number): string => errors("COR", total);

/** The files of a card with eight lanes. */
export const CARD = {
  vendor: "0x1234",
  device: "0x1111",
  class: "0x030000",
  revision: "0xa1",
  subsystem_vendor: "0x1234",
  subsystem_device: "0x0002",
  current_link_speed: "8.0 GT/s PCIe",
  current_link_width: "8",
  max_link_speed: "8.0 GT/s PCIe",
  max_link_width: "8",
  aer_dev_correctable: correctable(3),
  aer_dev_nonfatal: errors("NONFATAL", 0),
  aer_dev_fatal: errors("FATAL", 0),
  rom: "",
  // Start, end and flags; the second region was wanted and got no address (IORESOURCE_UNSET).
  resource: [
    "0x00000000fa000000 0x00000000faffffff 0x0000000000040200",
    "0x0000000000000000 0x000000000fffffff 0x000000002014220c",
    ...Array(11).fill("0x0000000000000000 0x0000000000000000 0x0000000000000000"),
  ].join("\n"),
};

/** The files of the port it is behind. */
export const PORT = {
  vendor: "0x8086",
  device: "0x1901",
  class: "0x060400",
  revision: "0x07",
  subsystem_vendor: "0x8086",
  subsystem_device: "0x2015",
  current_link_speed: "8.0 GT/s PCIe",
  current_link_width: "8",
  max_link_speed: "8.0 GT/s PCIe",
  max_link_width: "16",
  secondary_bus_number: "1",
};

/** The port's configuration space: bridge on bus 1, express capability at 40h with a slot and reported link state. */
export function portConfig({ present, active }: { present: boolean; active: boolean }): Uint8Array {
  const bytes = new Uint8Array(256);
  const view = new DataView(bytes.buffer);
  view.setUint16(0, 0x8086, true);
  view.setUint16(2, 0x1901, true);
  view.setUint16(6, 0x10, true);
  view.setUint32(8, 0x06040007, true);
  view.setUint8(0x0e, 1);
  view.setUint8(0x19, 1);
  view.setUint8(0x34, 0x40);
  view.setUint16(0x40, 0x0010, true);
  // Version 2, root port, slot implemented.
  view.setUint16(0x42, 0x0142, true);
  view.setUint32(0x4c, 0x00100000 | (16 << 4) | 3, true);
  view.setUint16(0x52, (active ? 0x2000 | (8 << 4) : 0) | 1, true);
  view.setUint16(0x5a, present ? 0x40 : 0, true);
  return bytes;
}
