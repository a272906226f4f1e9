import { readdir, readFile, readlink, realpath } from "node:fs/promises";

export interface PortHolder {
  pid: number;
  /** Its command line, or what can be read of it. */
  command: string;
}

/**
 * Which processes have a device open, as far as this user may see: /proc/PID/fd is searched. Empty where that cannot be
 * read or holds no answer. This process is listed last.
 */
export async function portHolders(path: string, procRoot = "/proc"): Promise<PortHolder[]> {
  const target = await realpath(path).catch(() => path);
  const entries = await readdir(procRoot).catch(() => []);
  const pids = entries.filter((entry) => /^\d+$/.test(entry));
  const found = await Promise.all(pids.map((pid) => holder(`${procRoot}/${pid}`, Number(pid), target)));
  return found.filter((each) => each !== undefined).sort((one, other) => rank(one) - rank(other) || one.pid - other.pid);
}

const rank = (holder: PortHolder) => (holder.pid === process.pid ? 1 : 0);

async function holder(folder: string, pid: number, target: string): Promise<PortHolder | undefined> {
  const fds = await readdir(`${folder}/fd`).catch(() => []);
  for (const fd of fds) {
    const leadsTo = await readlink(`${folder}/fd/${fd}`).catch(() => "");
    if (leadsTo !== target) continue;
    const words = await readFile(`${folder}/cmdline`, "latin1").catch(() => "");
    return { pid, command: words.replaceAll("\0", " ").trim() || "command unknown" };
  }
  return undefined;
}
