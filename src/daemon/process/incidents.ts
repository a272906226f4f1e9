import { createHash } from "node:crypto";
import { readdir, rename, rm } from "node:fs/promises";
import path from "node:path";
import { Incident } from "../../../shared/guardian.ts";
import { messageOf } from "../../../shared/words/message-of.ts";
import { readPlainFile } from "../../system/read-plain-file.ts";

async function readIncident(file: string): Promise<Incident | null> {
  try {
    return Incident.parse(JSON.parse(await readPlainFile(file)));
  } catch {
    return null;
  }
}

/** A UUID made of the file's name (RFC 9562 version 8: the bits are our own). */
function idOf(name: string): string {
  const hex = createHash("sha256").update(name).digest("hex");
  return `${hex.slice(0, 8)}-${hex.slice(8, 12)}-8${hex.slice(13, 16)}-a${hex.slice(17, 20)}-${hex.slice(20, 32)}`;
}

/**
 * The incident the guardian left of one run: at once where it says that all is off, else what it says after `withinMs`,
 * since a guardian that goes on trying leaves word early. null: none came.
 */
export async function waitForIncident(directory: string, record: string, withinMs: number): Promise<Incident | null> {
  const until = performance.now() + withinMs;
  for (;;) {
    const file = (await readdir(directory).catch(() => [])).find(
      (name) => name.startsWith(`incident-${record}-`) && name.endsWith(".json"),
    );
    const incident = file === undefined ? null : await readIncident(path.join(directory, file));
    if (incident?.supplies.every((each) => each.output === "off") === true) return incident;
    if (performance.now() > until) return incident;
    await new Promise((resolve) => setTimeout(resolve, 50));
  }
}

/**
 * Incidents that no run was there to read: each is handed to `file` with an id that is always the same for it, so that a
 * start which dies half-way files it once, then removed. One of no run known here, or that cannot be filed, is set aside
 * under another name and never keeps a start from going on; unreadable ones are left in place.
 */
export async function fileIncidents(
  directory: string,
  options: {
    /** False where the incident's run is not of this record. */
    file: (incident: Incident, id: string) => Promise<boolean>;
    onTrouble?: (sentence: string) => void;
  },
): Promise<number> {
  let filed = 0;
  for (const name of await readdir(directory).catch(() => [])) {
    if (!/^incident-.*\.json$/.test(name)) continue;
    const at = path.join(directory, name);
    const incident = await readIncident(at);
    if (incident === null) continue;
    try {
      if (await options.file(incident, idOf(name))) {
        await rm(at, { force: true });
        filed += 1;
        continue;
      }
      options.onTrouble?.(`${at}: belongs to a run that is not in this record; it was set aside`);
    } catch (cause) {
      const why = messageOf(cause);
      options.onTrouble?.(`${at}: the incident could not be filed (${why}); it was set aside`);
    }
    await rename(at, path.join(directory, `set-aside-${name}`)).catch(() => {});
  }
  return filed;
}
