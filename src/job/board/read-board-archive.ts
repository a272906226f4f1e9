import { createHash } from "node:crypto";
import { BenchError, quoted } from "../../../shared/bench-error.ts";
import { BoardFile } from "../../../shared/files/board-file.ts";
import { BoardKnowledge } from "../../../shared/files/board-knowledge.ts";
import { schemaProblem } from "../../../shared/files/schema-problem.ts";
import { type OpenArchive, openArchive, type Refuse } from "../archive/open-archive.ts";
import { HEAD_BYTES } from "../store/attachment-store.ts";
import { mediaTypeOf } from "../store/media-type.ts";
import { BOARD, KNOWLEDGE, knowledgeText } from "./board-archive-form.ts";
import { imageWithoutNotes } from "./image-without-notes.ts";

const LARGEST_TEXT = 8 * 1024 * 1024;

/** The content of an archive of a board, every byte of it checked and still in the archive. */
export interface CheckedBoard {
  knowledge: BoardKnowledge;
  board: BoardFile | null;
  photos: string[];
  /** Says which archive it is. */
  id: string;
  pieces(name: string): AsyncGenerator<Buffer>;
  close(): Promise<void>;
}

/**
 * Reads and checks an archive of a board and writes nothing, by the same rules as an archive of a job. Throws BenchError "bad-input"
 * with what is wrong.
 */
export async function readBoardArchive(path: string): Promise<CheckedBoard> {
  const refuse: Refuse = (why) => {
    throw new BenchError("bad-input", `Cannot import ${quoted(path)}: ${why}; nothing was written`);
  };
  const archive = await openArchive(path, "an archive of a board", refuse);
  try {
    for (const name of [KNOWLEDGE, BOARD])
      if ((archive.sizeOf(name) ?? 0) > LARGEST_TEXT)
        refuse(`${name} is larger than ${LARGEST_TEXT / 1024 / 1024} MiB`);
    const text = await archive.text(KNOWLEDGE);
    const knowledge = parsedKnowledge(text, refuse);
    if (archive.names.join("\n") !== [KNOWLEDGE, ...knowledge.files.map(({ name }) => name)].join("\n"))
      refuse("its list of files does not match its content");
    const board = knowledge.files.some(({ name }) => name === BOARD)
      ? parsedBoard(await archive.text(BOARD), knowledge.kind, refuse)
      : null;
    const photos = knowledge.files.map(({ name }) => name).filter((name) => name !== BOARD);
    const listed = new Set(board?.photos?.map(({ file }) => file));
    for (const name of photos) if (!listed.has(name)) refuse(`${quoted(name)} is not a photograph of its board file`);
    await checkFiles(archive, knowledge, refuse);
    const id = createHash("sha256").update(text).digest("hex").slice(0, 12);
    return { knowledge, board, photos, id, pieces: archive.pieces, close: archive.close };
  } catch (cause) {
    await archive.close();
    throw cause;
  }
}

function parsedKnowledge(text: string, refuse: Refuse): BoardKnowledge {
  let document: unknown;
  try {
    document = JSON.parse(text);
  } catch {
    return refuse(`${KNOWLEDGE} is not JSON`);
  }
  const version = (document as { version?: unknown } | null)?.version;
  if (typeof version === "number" && version > 1) return refuse(`it was made by a newer firstamp (form ${version})`);
  const parsed = BoardKnowledge.safeParse(document);
  if (!parsed.success) return refuse(`${KNOWLEDGE} has a wrong form: ${schemaProblem(parsed.error)}`);
  if (knowledgeText(parsed.data) !== text) return refuse(`${KNOWLEDGE} is not written the way this program writes it`);
  return parsed.data;
}

function parsedBoard(text: string, kind: string, refuse: Refuse): BoardFile {
  let document: unknown;
  try {
    document = JSON.parse(text);
  } catch {
    return refuse(`${BOARD} is not JSON`);
  }
  const parsed = BoardFile.safeParse(document);
  if (!parsed.success) return refuse(`${BOARD} is not a board file: ${schemaProblem(parsed.error)}`);
  if (parsed.data.name !== kind) return refuse(`its board file is of another kind, ${quoted(parsed.data.name)}`);
  return parsed.data;
}

async function checkFiles(archive: OpenArchive, { files }: BoardKnowledge, refuse: Refuse): Promise<void> {
  for (const { name, bytes, sha256 } of files) {
    if (archive.sizeOf(name) !== bytes) refuse(`${quoted(name)} does not match the list of files`);
    const all: Buffer[] = [];
    for await (const piece of archive.pieces(name)) all.push(piece);
    const content = Buffer.concat(all);
    if (createHash("sha256").update(content).digest("hex") !== sha256)
      refuse(`${quoted(name)} does not match the list of files`);
    if (name === BOARD) continue;
    const picture = imageWithoutNotes(content, mediaTypeOf(content.subarray(0, HEAD_BYTES)));
    if (picture === null) refuse(`${quoted(name)} is not a valid PNG or JPEG`);
  }
}
