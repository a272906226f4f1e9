import { existsSync } from "node:fs";
import { readdir } from "node:fs/promises";
import path from "node:path";
import { ArmFile } from "../../../shared/guardian.ts";
import { endProcess } from "../../guardian/end-process.ts";
import { IncidentFile } from "../../guardian/leave-incident.ts";
import { type SwitchedOff, switchOffInTries } from "../../guardian/switch-off.ts";
import { readPlainFile } from "../../system/read-plain-file.ts";
import { realClock } from "../../system/real-clock.ts";
import { dataDirectory } from "../input/data-directory.ts";
import { EXIT } from "../input/exit-code.ts";
import { printDocument, say, shoutOutputUnknown } from "../text/people.ts";

/** A person waits for this one; the guardian goes on for longer. */
const TRIES = 20;

/** Cuts what the arm files of a data directory name, all of it at once; answers with the exit code. */
export async function switchAllOff(options: { data?: string; json?: boolean }): Promise<number> {
  const directory = path.join(dataDirectory(options.data), "run");
  const names = (await readdir(directory).catch(() => [])).filter((name) => /^arm-\d+\.json$/.test(name));
  const supplies = (await Promise.all(names.map((name) => cutArmed(path.join(directory, name))))).flat();
  if (options.json === true) printDocument({ supplies });
  for (const { name, output, detail } of supplies) say(`${name}: output ${output}; ${detail}`);
  if (supplies.length === 0) say(`No output was left on by a run of ${directory}.`);
  if (supplies.every((each) => each.output === "off")) return EXIT.asPlanned;
  shoutOutputUnknown();
  return EXIT.outputUnknown;
}

async function cutArmed(file: string): Promise<SwitchedOff[]> {
  const startedMs = realClock.nowMs();
  const arm = await readArmFile(file);
  if (arm === undefined) return [];
  if (typeof arm === "string") return [{ name: path.basename(file), output: "unknown", detail: arm }];
  endProcess(arm.benchPid, arm.benchStart, { mayBeParent: false });
  const supplies = await Promise.all(arm.supplies.map((each) => switchOffInTries(each, realClock, TRIES)));
  // Gone: its guardian lived, has cut as well and left word of it.
  if (existsSync(file))
    leaveWord(file, arm, {
      why: "switching off without the daemon was requested",
      tookMs: realClock.nowMs() - startedMs,
      supplies,
    });
  return supplies;
}

function leaveWord(file: string, arm: ArmFile, of: Parameters<IncidentFile["leave"]>[1]): void {
  try {
    new IncidentFile(file).leave(arm, of);
  } catch {
    // A full or read-only disk costs the incident's file, never the cut, which is done.
  }
}

/** The file; undefined where it is gone, or a sentence where it cannot be used. */
async function readArmFile(file: string): Promise<ArmFile | string | undefined> {
  let text: string;
  try {
    text = await readPlainFile(file);
  } catch {
    return existsSync(file) ? `${file} cannot be read` : undefined;
  }
  try {
    return ArmFile.parse(JSON.parse(text));
  } catch {
    return `${file} is damaged: it does not say which supply it is about`;
  }
}
