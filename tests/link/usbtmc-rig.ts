import { mkdirSync, mkdtempSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";

export interface UsbtmcRig {
  sysRoot: string;
  devRoot: string;
  /** Adds a device as sysfs shows it: a class entry that leads to the interface, whose parent has the ids. */
  add(
    name: string,
    ids: { idVendor: string; idProduct: string; serial?: string; manufacturer?: string; product?: string },
  ): void;
  /** Puts a path in the place of the character device. */
  link(name: string, target: string): void;
  close(): void;
}

/** A folder laid out like sysfs (kernel documentation, sysfs-rules; the usbmisc class, from memory) and one like /dev. */
export function usbtmcRig(): UsbtmcRig {
  const folder = mkdtempSync(join(tmpdir(), "firstamp-usb-"));
  const [sysRoot, devRoot] = [join(folder, "sys"), join(folder, "dev")];
  mkdirSync(join(sysRoot, "class/usbmisc"), { recursive: true });
  mkdirSync(devRoot);
  let port = 0;
  return {
    sysRoot,
    devRoot,
    add(name, ids) {
      const device = join(sysRoot, "devices/usb1", `1-${++port}`);
      const entry = join(device, `1-${port}:1.0`, "usbmisc", name);
      mkdirSync(entry, { recursive: true });
      symlinkSync("../..", join(entry, "device"));
      for (const [file, text] of Object.entries(ids)) writeFileSync(join(device, file), `${text}\n`);
      symlinkSync(entry, join(sysRoot, "class/usbmisc", name));
    },
    link: (name, target) => symlinkSync(target, join(devRoot, name)),
    close: () => rmSync(folder, { recursive: true, force: true }),
  };
}
