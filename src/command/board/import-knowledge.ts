import type { BoardKnowledge } from "../../../shared/files/board-knowledge.ts";
import { takeInBoard } from "../../job/board/known-elsewhere.ts";
import { readBoardArchive } from "../../job/board/read-board-archive.ts";
import { readShopSettings } from "../../job/store/shop-settings.ts";
import { dataDirectory } from "../input/data-directory.ts";
import { askYesNo } from "../power/ask-yes-no.ts";
import { say } from "../text/people.ts";
import { knowledgeLines } from "./knowledge-text.ts";

export interface ImportedKnowledge {
  done: "taken-in" | "same" | "shown";
  id: string;
  folder: string | null;
  /** Ids of what the same shop gave before, which this stands for. */
  replaced: string[];
  knowledge: BoardKnowledge;
}

/** Shows what an archive holds and takes it in where that is wished. Throws BenchError "bad-input" for an archive that is none. */
export async function importKnowledge(
  file: string,
  options: { data?: string; json?: boolean; yes?: boolean },
): Promise<ImportedKnowledge> {
  const dir = dataDirectory(options.data);
  const checked = await readBoardArchive(file);
  const { id, knowledge } = checked;
  try {
    for (const line of knowledgeLines(knowledge)) say(line);
    const isAsked = options.yes !== true && options.json !== true && process.stdin.isTTY === true;
    const isWished = isAsked ? await askYesNo("Import it?", new AbortController().signal) : options.yes === true;
    if (!isWished) return { done: "shown", id, folder: null, replaced: [], knowledge };
    const ownShop = (await readShopSettings(dir))?.shared?.shop ?? null;
    return { id, knowledge, ...(await takeInBoard(dir, checked, ownShop)) };
  } finally {
    await checked.close();
  }
}
