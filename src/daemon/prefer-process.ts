import { writeFileSync } from "node:fs";
import os from "node:os";

const NICE = -10;

/**
 * Puts this process ahead of other programs where this user may: a daemon that is kept waiting looks to the bench process
 * like one that is gone, which cuts. Linux shares the processor between sessions first (autogroup), and there a nice value
 * alone counts for nothing, so the session's is set as well.
 */
export function preferThisProcess(): void {
  try {
    if (os.getPriority() > NICE) os.setPriority(NICE);
    if (process.platform === "linux") writeFileSync("/proc/self/autogroup", String(NICE));
  } catch {
    // Not allowed to, or a kernel without sessions' shares: the limit stands all the same.
  }
}
