import { readFileSync } from "node:fs";
import { thisPlatform } from "./platform.ts";

/**
 * When a process began, in clock ticks since boot (field 22 of /proc/PID/stat), or null where that cannot be read. With
 * the pid it names one process for good: a pid alone may be another's by the time it is used.
 */
export function processStart(pid: number): string | null {
  try {
    const stat = readFileSync(`${thisPlatform.processFolder}/${pid}/stat`, "latin1");
    // The second field is the command in brackets and may hold spaces: count from its closing bracket.
    return stat.slice(stat.lastIndexOf(")") + 2).split(" ")[19] ?? null;
  } catch {
    return null;
  }
}
