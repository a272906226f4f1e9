import { accessSync, constants, statSync } from "node:fs";
import path from "node:path";
import { BenchError } from "../../../shared/bench-error.ts";
import { messageOf } from "../../../shared/words/message-of.ts";
import { freeSpaceProblem } from "../../job/store/disk-space.ts";
import type { JobStore } from "../../job/store/job-store.ts";
import { makeFolder } from "../../job/store/make-folder.ts";
import { openJobStore } from "../../job/store/open-job-store.ts";
import { fileIncidents } from "./incidents.ts";

export interface DataFolder {
  directory: string;
  /** The folder where the guardian keeps its arm file and leaves incidents. */
  runDirectory: string;
  /** Why nothing can be left there, in words; null where it can. */
  runFolderProblem: string | null;
  store: JobStore;
  close(): Promise<void>;
}

/**
 * Opens the data directory as its one owner. Incidents a guardian left are filed with the job of their run first. Throws
 * BenchError "data-in-use", "data-not-writable", or "disk-full" where a run could not be recorded to its end.
 */
export async function openDataFolder(
  directory: string,
  options: { onTrouble?: (sentence: string) => void } = {},
): Promise<DataFolder> {
  const store = await openJobStore(directory, { ...options, aside: true });
  try {
    const problem = freeSpaceProblem(directory);
    if (problem !== null) throw new BenchError("disk-full", `${problem}; nothing was touched`);
    const runDirectory = path.join(directory, "run");
    const runFolderProblem = problemOfFolder(runDirectory);
    if (runFolderProblem !== null) {
      options.onTrouble?.(
        `${runDirectory} cannot be used (${runFolderProblem}): after a power cut "firstamp off" would find nothing there. The guardian works without it`,
      );
    }
    await fileIncidents(runDirectory, {
      ...options,
      file: async (incident, id) => {
        const found = await store.findCapture(incident.record).catch(() => null);
        if (found === null) return false;
        const event = {
          kind: "incident" as const,
          text: `${incident.why}; the guardian cut (${Math.round(incident.tookMs)} ms): ${incident.supplies.map((each) => `${each.name}: ${each.detail}`).join("; ")}`,
          instrument: incident.supplies[0]?.name ?? null,
          run: found.run,
          output: incident.supplies.every((each) => each.output === "off") ? ("off" as const) : ("unknown" as const),
        };
        await store.appendEvent(found.job, event, { id });
        return true;
      },
    });
    return { directory, runDirectory, runFolderProblem, store, close: () => store.close() };
  } catch (cause) {
    await store.close();
    throw cause;
  }
}

function problemOfFolder(folder: string): string | null {
  try {
    makeFolder(folder);
    accessSync(folder, constants.W_OK | constants.X_OK);
    return statSync(folder).isDirectory() ? null : "it is not a folder";
  } catch (cause) {
    return messageOf(cause);
  }
}
