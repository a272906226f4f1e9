import { readFile, stat } from "node:fs/promises";
import { basename } from "node:path";
import { type Clock, pause } from "../../../shared/clock.ts";
import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { HostWord } from "../../../shared/record/host-look.ts";
import type { JobStore } from "../store/job-store.ts";
import { fileFindings } from "./file-findings.ts";
import { recogniseFile } from "./recognise-file.ts";

/** A file that is being written is half a document for a moment. */
const TRIES = 5;
const AGAIN_MS = 100;

/**
 * The host's word by a file that the host writes anew at each look; null where it was not written since then (wall clock, milliseconds), or
 * holds no look. The look is filed with the job. Throws BenchError where it cannot be filed.
 */
export async function hostWordIn(
  file: string,
  of: { store: JobStore; clock: Clock; job: string; board: BoardFile | null; port?: string; sinceMs: number },
): Promise<HostWord | null> {
  const { store, clock, job, board, port, sinceMs } = of;
  for (let tried = 0; tried < TRIES; tried++) {
    if (tried > 0) await pause(clock, AGAIN_MS);
    const written = await stat(file).catch(() => null);
    // Anything else than a plain file may never end.
    if (written === null || !written.isFile() || written.mtimeMs < sinceMs) return null;
    const bytes = await readFile(file);
    if (recogniseFile(bytes, "text/plain", "host").is !== "host-look") continue;
    const caption = "written by the test host during a start";
    const { event } = await store.attachBytes(job, bytes, { name: basename(file), caption });
    if (event.kind !== "attachment") return null;
    const wishes = {
      as: "host" as const,
      ...(board === null ? {} : { board }),
      ...(port === undefined ? {} : { port }),
    };
    const { filed } = await fileFindings(store, job, event, wishes);
    const said = filed[0]?.event;
    return said?.kind === "host-look" ? said.verdict.word : null;
  }
  return null;
}
