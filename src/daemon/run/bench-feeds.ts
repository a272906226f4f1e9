import type { BenchFile } from "../../../shared/files/bench-file.ts";
import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { MissingFeed } from "../../../shared/ipc.ts";

/**
 * The feeds that are connected for this board: every feed of the bench, so that a cut reaches each of its outputs and each is
 * watched. Those that the board does not have are not needed, so that their supplies may be absent. With no board file
 * all are needed.
 */
export function benchFeeds(bench: BenchFile, board: BoardFile | null): { feeds: string[]; mayMiss: string[] } {
  const feeds = Object.keys(bench.feeds);
  const mayMiss = board === null ? [] : feeds.filter((feed) => !Object.hasOwn(board.feeds, feed));
  // A bench that has none of the board's feeds needs what it has.
  return { feeds, mayMiss: mayMiss.length === feeds.length ? [] : mayMiss };
}

/** One sentence for each feed whose supply is absent. */
export const missingInWords = (missing: readonly MissingFeed[]): string[] =>
  missing.map(
    ({ feed, supply, because }) =>
      `${feed} is not watched, and a cut does not reach it: its supply ${supply} did not answer (${because})`,
  );
