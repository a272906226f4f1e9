import { readFile } from "node:fs/promises";
import { join } from "node:path";
import { BenchError, quoted } from "../../../shared/bench-error.ts";
import type { BoardFile } from "../../../shared/files/board-file.ts";
import { BoardKnowledge } from "../../../shared/files/board-knowledge.ts";
import { schemaProblem } from "../../../shared/files/schema-problem.ts";
import { messageOf } from "../../../shared/words/message-of.ts";
import { type ArchivePart, summed } from "../archive/collect-job.ts";
import { archivePieces, writeArchive } from "../archive/export-job.ts";
import { HEAD_BYTES } from "../store/attachment-store.ts";
import type { JobStore } from "../store/job-store.ts";
import { mediaTypeOf } from "../store/media-type.ts";
import { runsOf } from "../store/runs-of.ts";
import { BOARD, KNOWLEDGE, knowledgeText } from "./board-archive-form.ts";
import { imageWithoutNotes } from "./image-without-notes.ts";
import { shopKnowledge } from "./shop-knowledge.ts";

export interface ExportedBoard {
  /** The board file, and the folder with its photographs; left out: the one of the last run of that kind, without photographs. */
  board?: { file: BoardFile; folder: string };
  kind: string;
  shop: string;
  out: string;
}

/**
 * Writes what this record knows of a kind of board to one file for another shop: the board file, its photographs without what cameras
 * noted in them, and what boards that passed read. The same knowledge gives the same bytes. Throws BenchError "bad-input" where nothing
 * is known of the kind, a photograph cannot be given away, or another file is at `out`.
 */
export async function exportBoard(
  store: JobStore,
  { board, kind, shop, out }: ExportedBoard,
): Promise<{ knowledge: BoardKnowledge; done: "written" | "same" }> {
  if (board !== undefined && board.file.name !== kind)
    throw new BenchError(
      "bad-input",
      `The board file is of kind ${quoted(board.file.name)}; it should be of kind ${quoted(kind)}; nothing was written`,
    );
  const known = await shopKnowledge(store, kind);
  const file = board?.file ?? (await lastBoardFile(store, kind));
  if (file === null && known.draws.length + known.points.length === 0)
    throw new BenchError(
      "bad-input",
      `No run in this record names boards of kind ${quoted(kind)}; nothing was written`,
    );
  const parts: ArchivePart[] = [];
  if (file !== null) parts.push(await summed(BOARD, Buffer.from(`${JSON.stringify(file, null, 2)}\n`)));
  if (board !== undefined)
    for (const photo of file?.photos ?? []) parts.push(await photoPart(board.folder, photo.file));
  const parsed = BoardKnowledge.safeParse({
    format: "firstamp-board",
    version: 1,
    kind,
    shop,
    ...known,
    files: parts.map(({ name, bytes, sha256 }) => ({ name, bytes, sha256 })),
  });
  if (!parsed.success)
    throw new BenchError("bad-input", `Cannot export ${quoted(kind)}: ${schemaProblem(parsed.error)}`);
  const head = await summed(KNOWLEDGE, Buffer.from(knowledgeText(parsed.data)));
  return { knowledge: parsed.data, done: await writeArchive(archivePieces([head, ...parts], "the board"), out) };
}

/** The board file that the newest run of the kind was done with; its photographs lie elsewhere. */
async function lastBoardFile(store: JobStore, kind: string): Promise<BoardFile | null> {
  const { jobs } = await store.search({ board: kind, most: 20 });
  for (const { job } of jobs) {
    const run = runsOf(await store.events(job)).findLast(({ header }) => header.board?.name === kind);
    if (run === undefined || run.header.board === null) continue;
    const { photos: _, ...board } = run.header.board;
    return board;
  }
  return null;
}

async function photoPart(folder: string, name: string): Promise<ArchivePart> {
  const bytes = await readFile(join(folder, name)).catch((cause: unknown) => {
    throw new BenchError("bad-input", `Cannot read the photograph ${quoted(name)}: ${messageOf(cause)}`, { cause });
  });
  const picture = imageWithoutNotes(bytes, mediaTypeOf(bytes.subarray(0, HEAD_BYTES)));
  if (picture === null)
    throw new BenchError(
      "bad-input",
      `The photograph ${quoted(name)} is not a valid PNG or JPEG, so its content is unknown; nothing was written`,
    );
  return await summed(name, picture);
}
