import { readdir, readFile, readlink, realpath, stat } from "node:fs/promises";
import { thisPlatform } from "./platform.ts";

export interface PortHolder {
  pid: number;
  /** Its command line, or what can be read of it. */
  command: string;
}

/**
 * Which processes have a device open, as far as this user may see (/proc/PID/fd), those first that hold its lock
 * (/proc/locks). Empty where that cannot be read or holds no answer.
 */
export async function portHolders(
  path: string,
  procRoot = thisPlatform.processFolder ?? "/none",
): Promise<PortHolder[]> {
  const target = await realpath(path).catch(() => path);
  const [entries, lockers] = await Promise.all([readdir(procRoot).catch(() => []), pidsWithLock(target, procRoot)]);
  const pids = entries.filter((entry) => /^\d+$/.test(entry)).map(Number);
  const found = await Promise.all(pids.map((pid) => holder(pid, target, procRoot)));
  const rank = ({ pid }: PortHolder) => (lockers.has(pid) ? 0 : 1);
  return found
    .filter((each) => each !== undefined)
    .sort((one, other) => rank(one) - rank(other) || one.pid - other.pid);
}

async function holder(pid: number, target: string, procRoot: string): Promise<PortHolder | undefined> {
  const folder = `${procRoot}/${pid}`;
  const fds = await readdir(`${folder}/fd`).catch(() => []);
  for (const fd of fds) {
    const leadsTo = await readlink(`${folder}/fd/${fd}`).catch(() => "");
    if (leadsTo !== target) continue;
    const words = await readFile(`${folder}/cmdline`, "latin1").catch(() => "");
    return { pid, command: words.replaceAll("\0", " ").trim() || "command unknown" };
  }
  return undefined;
}

/** Lines of /proc/locks read "1: FLOCK ADVISORY WRITE PID MAJOR:MINOR:INODE …", the device's numbers in hex (proc(5)). */
async function pidsWithLock(target: string, procRoot: string): Promise<Set<number>> {
  const [file, locks] = await Promise.all([
    stat(target).catch(() => undefined),
    readFile(`${procRoot}/locks`, "latin1").catch(() => ""),
  ]);
  const pids = locks.split("\n").flatMap((line) => {
    const [, kind, , , pid, place] = line.trim().split(/\s+/);
    return kind === "FLOCK" && place?.split(":")[2] === String(file?.ino) ? [Number(pid)] : [];
  });
  return new Set(pids);
}
