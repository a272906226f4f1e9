import { createHash } from "node:crypto";
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

/** A UUID made of the file's name (RFC 9562 version 8: the bits are our own). */
function idOf(name: string): string {
  const hex = createHash("sha256").update(name).digest("hex");
  return `${hex.slice(0, 8)}-${hex.slice(8, 12)}-8${hex.slice(13, 16)}-a${hex.slice(17, 20)}-${hex.slice(20, 32)}`;
}

/** The incident the guardian left of one run, waited for at most `withinMs`; null when none came. */
export async function waitForIncident(directory: string, record: string, withinMs: number): Promise<Incident | null> {
  const until = performance.now() + withinMs;
  for (;;) {
    const file = (await readdir(directory).catch(() => [])).find(
      (name) => name.startsWith(`incident-${record}-`) && name.endsWith(".json"),
    );
    if (file !== undefined) return readIncident(path.join(directory, file));
    if (performance.now() > until) return null;
    await new Promise((resolve) => setTimeout(resolve, 50));
  }
}

/**
 * Incidents that no run was there to read: each is handed to `file` with an id that is always the same for it, so that a
 * start which dies half-way files it once, then removed. Unreadable ones are left in place.
 */
export async function fileIncidents(
  directory: string,
  file: (incident: Incident, id: string) => Promise<void>,
): Promise<number> {
  let filed = 0;
  for (const name of await readdir(directory).catch(() => [])) {
    if (!/^incident-.*\.json$/.test(name)) continue;
    const incident = await readIncident(path.join(directory, name));
    if (incident === null) continue;
    await file(incident, idOf(name));
    await rm(path.join(directory, name), { force: true });
    filed += 1;
  }
  return filed;
}
