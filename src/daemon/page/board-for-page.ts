import { readFile } from "node:fs/promises";
import path from "node:path";
import { BenchError } from "../../../shared/bench-error.ts";
import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { Diagnosis, DiagnosisReadings } from "../../../shared/record/diagnosis.ts";
import { mediaTypeOf } from "../../job/store/media-type.ts";
import { shippedFaultData } from "../../verdict/diagnosis/shipped-fault-data.ts";
import type { PageBoard } from "../../wire/bench-facade.ts";
import { diagnoseAside } from "../process/diagnose-aside.ts";
import { markPoint } from "./mark-point.ts";

/** A photograph larger than this is not handed to a page. */
const MOST_PHOTO_BYTES = 20 * 1024 * 1024;

/** The board of the daemon as a page works with it. `file` is the board file, beside which its photographs lie; null: it came from no file. */
export function boardForPage(
  board: BoardFile | null,
  file: string | null,
  onMarked: (board: BoardFile) => void,
): PageBoard {
  const folder = file === null ? null : path.dirname(file);
  return {
    mark: async (index, point, at) => {
      if (file === null || board === null)
        throw new BenchError(
          "bad-input",
          "The daemon was started without a board file, so there is no file to write to.",
        );
      const { photos } = await markPoint(file, { photo: index, point, at });
      if (photos !== undefined) board.photos = photos;
      onMarked(board);
    },
    photo: async (index) => {
      const photo = board?.photos?.[index];
      if (photo === undefined || folder === null) return null;
      // The board file's own schema lets through names without a folder only.
      const bytes = await readFile(path.join(folder, photo.file)).catch(() => null);
      if (bytes === null || bytes.length > MOST_PHOTO_BYTES) return null;
      return { name: photo.file, mediaType: mediaTypeOf(bytes.subarray(0, 4096)), bytes };
    },
    diagnose: async (readings: DiagnosisReadings): Promise<Diagnosis> => {
      if (board === null) throw new BenchError("bad-input", "A diagnosis needs a board file.");
      return diagnoseAside({ board, readings, data: shippedFaultData(), shop: null });
    },
  };
}
