import { spawnSync } from "node:child_process";
import os from "node:os";
import { thisPlatform } from "../system/platform.ts";

const NICE = -10;

function tool(name: string, args: readonly string[]): boolean {
  const { status } = spawnSync(name, args, { stdio: "ignore", timeout: 1000 });
  return status === 0;
}

/**
 * Puts a process, all threads of it, ahead of the others as far as this user may, and says in words how far that was:
 * real time at `level` (1 to 99) by `chrt`, of which the kernel leaves the others their part; else nice -10, which
 * counts within its session only where Linux gives each session a share of its own (autogroup).
 */
export function raisePriority(pid: number, level: number): string {
  // Without a limit on its turns (RLIMIT_RTTIME): that ends a process which is only busy. One that hangs its guardian ends.
  const { realTimeCommand } = thisPlatform;
  if (realTimeCommand !== null && tool(realTimeCommand, ["--all-tasks", "--fifo", "--pid", String(level), String(pid)]))
    return `real time (SCHED_FIFO ${level})`;
  try {
    os.setPriority(pid, NICE);
  } catch {
    return "nice 0 (not allowed to raise it)";
  }
  return `nice ${NICE}`;
}
