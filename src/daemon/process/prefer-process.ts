import os from "node:os";

const NICE = -10;

/**
 * Puts this process ahead of other programs where this user may: a daemon that is kept waiting looks to the bench process
 * like one that is gone, which cuts. Its session's share (Linux's autogroup) stays as it is: everything else started from the
 * same terminal would be lifted with it, and programs of other sessions be kept waiting for good.
 */
export function preferThisProcess(): void {
  try {
    if (os.getPriority() > NICE) os.setPriority(NICE);
  } catch {
    // Not permitted: the limit still holds.
  }
}
