import { readdir, readFile, rm } from "node:fs/promises";
import path from "node:path";
import { Incident } from "../../shared/guardian.ts";

async function readIncident(file: string): Promise<Incident | null> {
  try {
    return Incident.parse(JSON.parse(await readFile(file, "utf8")));
  } catch {
    return null;
  }
}

/** The incident the guardian left of one run, waited for at most `withinMs`; null when none came. */
export async function waitForIncident(directory: string, record: string, withinMs: number): Promise<Incident | null> {
  const until = performance.now() + withinMs;
  for (;;) {
    const file = (await readdir(directory).catch(() => [])).find((name) => name.startsWith(`incident-${record}-`) && name.endsWith(".json"));
    if (file !== undefined) return readIncident(path.join(directory, file));
    if (performance.now() > until) return null;
    await new Promise((resolve) => setTimeout(resolve, 50));
  }
}

/** Incidents that no run was there to read: each is handed to `file`, then removed. Unreadable ones are left in place. */
export async function fileIncidents(directory: string, file: (incident: Incident) => Promise<void>): Promise<number> {
  let filed = 0;
  for (const name of await readdir(directory).catch(() => [])) {
    if (!/^incident-.*\.json$/.test(name)) continue;
    const incident = await readIncident(path.join(directory, name));
    if (incident === null) continue;
    await file(incident);
    await rm(path.join(directory, name), { force: true });
    filed += 1;
  }
  return filed;
}
