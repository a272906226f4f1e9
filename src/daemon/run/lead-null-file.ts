import { rename, writeFile } from "node:fs/promises";
import path from "node:path";
import { LeadNull } from "../../../shared/record/lead-null.ts";
import { readPlainFile } from "../../system/read-plain-file.ts";

const fileIn = (directory: string): string => path.join(directory, "lead-null.json");

/** The lead null of this meter in the data directory; null where there is none, or it is another meter's, or not readable. */
export async function readLeadNull(directory: string, meter: string): Promise<LeadNull | null> {
  const text = await readPlainFile(fileIn(directory)).catch(() => null);
  if (text === null) return null;
  try {
    const found = LeadNull.safeParse(JSON.parse(text));
    return found.success && found.data.meter === meter ? found.data : null;
  } catch {
    return null;
  }
}

/** Keeps a lead null in place of the one before; the file is there whole or not at all. */
export async function keepLeadNull(directory: string, leadNull: LeadNull): Promise<void> {
  const file = fileIn(directory);
  await writeFile(`${file}.new`, `${JSON.stringify(leadNull)}\n`, { mode: 0o600 });
  await rename(`${file}.new`, file);
}

/** A lead null in words, with its age. */
export function leadNullWords({ ohms, at }: LeadNull, nowMs: number): string {
  const minutes = Math.max(0, Math.round((nowMs - Date.parse(at)) / 60_000));
  const age =
    minutes < 120
      ? `${minutes} min`
      : minutes < 2880
        ? `${Math.round(minutes / 60)} h`
        : `${Math.round(minutes / 1440)} days`;
  return `leads nulled at ${ohms} Ω, ${age} ago`;
}
