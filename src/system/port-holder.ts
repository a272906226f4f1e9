import { readdir, readFile, readlink, realpath, stat } from "node:fs/promises";
import { thisPlatform } from "./platform.ts";

export interface PortHolder {
  pid: number;
  /** Its command line, or what can be read of it. */
  command: string;
}

/** As many processes are looked at side by side, so that the first to be found is not waited for behind all others. */
const AT_ONCE = 8;

/**
 * Which process has a device open, as far as this user may see (/proc/PID/fd): the one that holds its lock (/proc/locks), or else
 * this process itself, or else the one with the lowest pid. Those that are likely are looked at first: to look at every process takes
 * thousands of calls of the system, which a slow computer may not do in the time that a person waits. Undefined where none is seen.
 */
export async function portHolder(
  path: string,
  procRoot = thisPlatform.processFolder ?? "/none",
  own = process.pid,
): Promise<PortHolder | undefined> {
  const target = await realpath(path).catch(() => path);
  const lockers = await pidsWithLock(target, procRoot);
  const likely = (await firstOf(lockers, target, procRoot)) ?? (await holder(own, target, procRoot));
  if (likely !== undefined) return likely;
  const entries = await readdir(procRoot).catch(() => []);
  const pids = entries.filter((entry) => /^\d+$/.test(entry)).map(Number);
  pids.sort((one, other) => one - other);
  return firstOf(pids, target, procRoot);
}

async function firstOf(pids: readonly number[], target: string, procRoot: string): Promise<PortHolder | undefined> {
  for (let at = 0; at < pids.length; at += AT_ONCE) {
    const found = await Promise.all(pids.slice(at, at + AT_ONCE).map((pid) => holder(pid, target, procRoot)));
    const first = found.find((each) => each !== undefined);
    if (first !== undefined) return first;
  }
  return undefined;
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
async function pidsWithLock(target: string, procRoot: string): Promise<number[]> {
  const [file, locks] = await Promise.all([
    stat(target).catch(() => undefined),
    readFile(`${procRoot}/locks`, "latin1").catch(() => ""),
  ]);
  const pids = locks.split("\n").flatMap((line) => {
    const [, kind, , , pid, place] = line.trim().split(/\s+/);
    return kind === "FLOCK" && place?.split(":")[2] === String(file?.ino) ? [Number(pid)] : [];
  });
  return [...new Set(pids)];
}
