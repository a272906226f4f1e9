import { processStart } from "../system/process-start.ts";

/**
 * Ends the process that began at `start`, by force, and nobody else: a pid alone may be another's by now. Where no start is
 * known (`start` null: a system without /proc), only the guardian ends it, and only while it still is its own parent.
 */
export function endProcess(pid: number, start: string | null, options: { mayBeParent: boolean }): void {
  const isIt = start === null ? options.mayBeParent && process.ppid === pid : processStart(pid) === start;
  if (!isIt) return;
  try {
    process.kill(pid, "SIGKILL");
  } catch {
    // It had ended already, which is what was wanted.
  }
}
