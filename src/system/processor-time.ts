import { readFileSync } from "node:fs";
import { thisPlatform } from "./platform.ts";

/** Of the first thread of a process, since it began. */
export interface ProcessorTime {
  /** On a processor, milliseconds. */
  ranMs: number;
  /** Ready to run, with no processor given, milliseconds. A process that hangs or is stopped waits for none. */
  waitedMs: number;
}

/** The kernel's counts for a process (first two fields of /proc/PID/schedstat, proc(5)); null where it cannot be read. */
export function processorTime(pid: number): ProcessorTime | null {
  try {
    const [ranMs, waitedMs] = readFileSync(`${thisPlatform.processFolder}/${pid}/schedstat`, "latin1")
      .split(" ")
      .map((ns) => Number(ns) / 1e6);
    return ranMs === undefined || waitedMs === undefined || Number.isNaN(ranMs + waitedMs) ? null : { ranMs, waitedMs };
  } catch {
    return null;
  }
}
