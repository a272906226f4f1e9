import { execFile } from "node:child_process";
import { thisLinkPlatform } from "./link-platform.ts";

export interface TtyWish {
  hangUpOnClose: boolean;
  /** True: what comes is binary. Errors are not marked, since each 0xFF of the data would come twice then. */
  isRaw?: boolean;
}

/**
 * Sets what serialport 13 cannot, on a port that is open: a byte received in error arrives marked by 0xFF, so that its
 * line is junk (serialport sets IGNPAR, which leaves such bytes out, and 11.98 may become 1.98); and unless it is to hang
 * up, DTR stays up after the last close (serialport's `hupcl: false` does not clear the flag, which Linux sets on each
 * new port; tested). By stty (POSIX); true when that was done, and without it the port works as before.
 * termios(3): INPCK, IGNPAR, PARMRK, HUPCL.
 */
export function setTtyFlags(path: string, { hangUpOnClose, isRaw = false }: TtyWish): Promise<boolean> {
  const { sttyFile } = thisLinkPlatform;
  if (sttyFile === null) return Promise.resolve(false);
  const marks = isRaw ? [] : ["inpck", "-ignpar", "parmrk"];
  const flags = [...marks, hangUpOnClose ? "hupcl" : "-hupcl"];
  return new Promise((resolve) => {
    execFile("stty", [sttyFile, path, ...flags], { timeout: 2000 }, (error) => resolve(error === null));
  });
}
