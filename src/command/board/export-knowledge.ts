import path from "node:path";
import { BenchError } from "../../../shared/bench-error.ts";
import { BoardFile } from "../../../shared/files/board-file.ts";
import type { BoardKnowledge } from "../../../shared/files/board-knowledge.ts";
import { exportBoard } from "../../job/board/export-board.ts";
import { readShopSettings } from "../../job/store/shop-settings.ts";
import { readDocument } from "../input/read-document.ts";
import { lookingAtRecord } from "../record/with-record.ts";

/** Does what `board export` is asked for. Throws BenchError as `exportBoard` does, and where nobody says how the shop is named. */
export async function exportKnowledge(
  kind: string,
  options: { data?: string; out: string; board?: string; shop?: string },
): Promise<{ knowledge: BoardKnowledge; done: "written" | "same" }> {
  const { out, board } = options;
  const given =
    board === undefined
      ? {}
      : {
          board: {
            file: await readDocument({ schema: BoardFile, what: "board file", file: board }),
            folder: path.dirname(path.resolve(board)),
          },
        };
  return await lookingAtRecord(options.data, async (store) => {
    const shop = options.shop ?? (await readShopSettings(store.dir))?.shared?.shop;
    if (shop === undefined)
      throw new BenchError("bad-input", "Give --shop to name this shop in the file; nothing was written");
    return await exportBoard(store, { kind, shop, out, ...given });
  });
}
