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

/**
 * Leaves word of a cut beside the arm file, for the next start to file with its job. Word that was left before of the same
 * cut is taken back first, where no start has filed it meanwhile; the arm file goes once all is off. Throws where the disk
 * does not take it.
 */
export class IncidentFile {
  readonly #armPath: string;
  #left: string | null = null;

  constructor(armPath: string) {
    this.#armPath = armPath;
  }

  leave(arm: ArmFile, of: { why: string; tookMs: number; supplies: SwitchedOff[] }): void {
    const at = new Date();
    const incident: Incident = { version: 1, record: arm.record, at: at.toISOString(), ...of };
    const file = path.join(path.dirname(this.#armPath), `incident-${arm.record}-${at.getTime()}.json`);
    keepFile(file, incident);
    if (this.#left !== null && this.#left !== file) rmSync(this.#left, { force: true });
    this.#left = file;
    if (of.supplies.every((each) => each.output === "off")) rmSync(this.#armPath, { force: true });
  }
}
