import { readFileSync } from "node:fs";

/**
 * For how long in all the first thread of a process stood ready to run and got no processor, milliseconds (second field of
 * /proc/PID/schedstat, proc(5)); null where that cannot be read. A process that hangs or is stopped waits for none.
 */
export function runWaitMs(pid: number): number | null {
  try {
    const waitedNs = Number(readFileSync(`/proc/${pid}/schedstat`, "latin1").split(" ")[1]);
    return Number.isFinite(waitedNs) ? waitedNs / 1e6 : null;
  } catch {
    return null;
  }
}
