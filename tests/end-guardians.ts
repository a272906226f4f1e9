import { readdir, readFile } from "node:fs/promises";

/** How long a guardian that is no longer needed may take to end by itself, milliseconds. */
const END_WITHIN_MS = 5000;

/** Guardians whose arm file lies in this folder, by process id. */
async function guardiansIn(folder: string): Promise<number[]> {
  const pids = (await readdir("/proc")).filter((name) => /^\d+$/.test(name));
  const found = await Promise.all(
    pids.map(async (pid) => {
      const words = (await readFile(`/proc/${pid}/cmdline`, "utf8").catch(() => "")).split("\0");
      const isOne = words.some((word) => word.endsWith("guardian/main.js"));
      return isOne && words.some((word) => word.startsWith(`${folder}/`)) ? [Number(pid)] : [];
    }),
  );
  return found.flat();
}

/**
 * Ends the guardians that a test leaves in its folder on purpose: one whose supply never proves off tries on for as long
 * as it lives. Answers how many there were.
 */
export async function endGuardians(folder: string): Promise<number> {
  const left = await guardiansIn(folder);
  for (const pid of left) process.kill(pid, "SIGKILL");
  while ((await guardiansIn(folder)).length > 0);
  return left.length;
}

/** Throws where a guardian of this folder does not end by itself; it is ended then, so that no test leaves one behind. */
export async function mustHaveNoGuardian(folder: string): Promise<void> {
  const untilMs = performance.now() + END_WITHIN_MS;
  while (performance.now() < untilMs) if ((await guardiansIn(folder)).length === 0) return;
  const left = await endGuardians(folder);
  if (left > 0) throw new Error(`${left} guardians of ${folder} did not end by themselves`);
}
