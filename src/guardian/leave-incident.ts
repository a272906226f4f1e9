import { mkdirSync, renameSync, rmSync, writeFileSync } from "node:fs";
import path from "node:path";
import type { ArmFile, Incident } from "../../shared/guardian.ts";
import type { SwitchedOff } from "./switch-off.ts";

/** Safe against a crash in between: the file is whole or not there. */
export function keepFile(file: string, content: unknown): void {
  mkdirSync(path.dirname(file), { recursive: true });
  writeFileSync(`${file}.new`, JSON.stringify(content), { mode: 0o600 });
  renameSync(`${file}.new`, file);
}

/** Leaves word of a cut beside the arm file, for the next start to file with its job; the arm file goes where all is off. */
export function leaveIncident(
  armPath: string,
  arm: ArmFile,
  of: { why: string; tookMs: number; supplies: SwitchedOff[] },
): void {
  const incident: Incident = { version: 1, record: arm.record, at: new Date().toISOString(), ...of };
  try {
    keepFile(path.join(path.dirname(armPath), `incident-${arm.record}-${Date.now()}.json`), incident);
    if (of.supplies.every((each) => each.output === "off")) rmSync(armPath, { force: true });
  } catch {
    // A full or read-only disk costs the incident's file, never the cut, which is done.
  }
}
