import { randomUUID } from "node:crypto";
import { existsSync } from "node:fs";
import { mkdir, open, readdir, readFile, rename, rm } from "node:fs/promises";
import { join } from "node:path";
import { BenchError, quoted } from "../../../shared/bench-error.ts";
import { BoardKnowledge } from "../../../shared/files/board-knowledge.ts";
import type { DrawElsewhere } from "../../analysis/draw-baseline.ts";
import { syncFolder } from "../store/attachment-store.ts";
import { storageProblem } from "../store/storage-problem.ts";
import { KNOWLEDGE, knowledgeText } from "./board-archive-form.ts";
import type { CheckedBoard } from "./read-board-archive.ts";

/** The knowledge of another shop, as it was taken in. */
export interface TakenIn {
  id: string;
  /** Its folder, with the board file and the photographs. */
  folder: string;
  knowledge: BoardKnowledge;
}

/** Apart from the record: nothing that another shop read is among one's own readings. */
const folderOf = (dir: string): string => join(dir, "knowledge");

/** The knowledge of other shops on all kinds, or on one; what cannot be read is left out. */
export async function knownElsewhere(dir: string, kind: string | null = null): Promise<TakenIn[]> {
  const all = folderOf(dir);
  if (!existsSync(all)) return [];
  const found: TakenIn[] = [];
  for (const id of (await readdir(all)).filter((name) => /^[0-9a-f]{12}$/.test(name)).sort()) {
    const folder = join(all, id);
    try {
      const knowledge = BoardKnowledge.parse(JSON.parse(await readFile(join(folder, KNOWLEDGE), "utf8")));
      if (kind === null || knowledge.kind === kind) found.push({ id, folder, knowledge });
    } catch {
      // A folder that is damaged keeps nobody from a run; the archive it came from can be taken in again.
    }
  }
  return found;
}

/** The readings of other shops on good boards of a kind with these feeds on; null: with any. */
export async function drawsElsewhere(
  dir: string,
  kind: string,
  feeds: readonly string[] | null,
): Promise<DrawElsewhere[]> {
  const wanted = feeds === null ? null : [...feeds].sort().join("\n");
  return (await knownElsewhere(dir, kind)).flatMap(({ knowledge: { shop, draws } }) =>
    draws
      .filter((draw) => wanted === null || [...draw.feeds].sort().join("\n") === wanted)
      .map((draw): DrawElsewhere => ({ shop, ...draw })),
  );
}

/**
 * Takes in what an archive holds, all of it or nothing. What the same shop gave of the same kind before is replaced: the newer one
 * holds it. Throws BenchError "bad-input" for what comes from one's own shop, whose boards would count twice; "disk-full" or
 * "data-not-writable".
 */
export async function takeInBoard(
  dir: string,
  checked: CheckedBoard,
  ownShop: string | null,
): Promise<{ folder: string; done: "taken-in" | "same"; replaced: string[] }> {
  const { knowledge, id } = checked;
  if (knowledge.shop === ownShop)
    throw new BenchError(
      "bad-input",
      `The archive comes from this shop itself (${quoted(ownShop)}), so its boards would count twice; nothing was written`,
    );
  const folder = join(folderOf(dir), id);
  if (existsSync(folder)) return { folder, done: "same", replaced: [] };
  const earlier = (await knownElsewhere(dir, knowledge.kind)).filter((each) => each.knowledge.shop === knowledge.shop);
  const making = join(folderOf(dir), `.${randomUUID()}`);
  try {
    await mkdir(making, { recursive: true, mode: 0o700 });
    await writePlain(join(making, KNOWLEDGE), [Buffer.from(knowledgeText(knowledge))]);
    for (const { name } of knowledge.files) await writePlain(join(making, name), checked.pieces(name));
    await rename(making, folder);
    await syncFolder(folderOf(dir));
    for (const each of earlier) await rm(each.folder, { recursive: true, force: true });
    return { folder, done: "taken-in", replaced: earlier.map((each) => each.id) };
  } catch (cause) {
    throw storageProblem(cause, `Cannot import what ${knowledge.shop} knows into ${dir}`);
  } finally {
    await rm(making, { recursive: true, force: true });
  }
}

/** Removes what was taken in under an id. Throws BenchError "bad-input" for an id that is none. */
export async function forgetBoard(dir: string, id: string): Promise<TakenIn> {
  const found = (await knownElsewhere(dir)).find((each) => each.id === id);
  if (found === undefined)
    throw new BenchError("bad-input", `Nothing was imported as ${quoted(id)}; "board list" shows what was`);
  await rm(found.folder, { recursive: true, force: true });
  return found;
}

async function writePlain(path: string, pieces: Iterable<Buffer> | AsyncIterable<Buffer>): Promise<void> {
  const file = await open(path, "wx", 0o600);
  try {
    for await (const piece of pieces) await file.write(piece);
    await file.sync();
  } finally {
    await file.close();
  }
}
