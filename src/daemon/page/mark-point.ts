import { readFile, rename, writeFile } from "node:fs/promises";
import { BenchError, quoted } from "../../../shared/bench-error.ts";
import { BoardFile } from "../../../shared/files/board-file.ts";

/** The place of a point on a photograph, as shares of its width and height from the upper left; null takes the mark away. */
export interface Mark {
  photo: number;
  point: string;
  at: { x: number; y: number } | null;
}

/**
 * Writes a mark into the board file, and nothing else of it: what a person wrote stays as it is but for its spacing. The file is
 * there whole or as it was. Throws BenchError "bad-input" where it is no longer a board file, or has no such photograph or point.
 */
export async function markPoint(file: string, { photo, point, at }: Mark): Promise<BoardFile> {
  const document = JSON.parse(await readFile(file, "utf8")) as {
    photos?: { points?: Record<string, { x: number; y: number }> }[];
  };
  const wanted = document.photos?.[photo];
  if (wanted === undefined)
    throw new BenchError("bad-input", `${quoted(file)} has no photograph ${photo + 1}; nothing was written.`);
  const { [point]: _, ...others } = wanted.points ?? {};
  wanted.points = at === null ? others : { ...others, [point]: { x: round(at.x), y: round(at.y) } };
  const checked = BoardFile.safeParse(document);
  if (!checked.success) {
    const [first] = checked.error.issues;
    throw new BenchError(
      "bad-input",
      `The mark cannot be stored: ${first?.path.join(".") ?? ""} ${first?.message ?? ""}; nothing was written.`,
    );
  }
  await writeFile(`${file}.new`, `${JSON.stringify(document, null, 2)}\n`);
  await rename(`${file}.new`, file);
  return checked.data;
}

const round = (share: number): number => Math.round(share * 10_000) / 10_000;
