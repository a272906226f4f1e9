import { processStart } from "../system/process-start.ts";

/** Ends the process that began at `start`, by force, and nobody else: a pid alone may be another's by now. */
export function endProcess(pid: number, start: string | null): void {
  if (process.ppid !== pid && (start === null || processStart(pid) !== start)) return;
  try {
    process.kill(pid, "SIGKILL");
  } catch {
    // It had ended already, which is what was wanted.
  }
}
