import type { BoardFile } from "../../shared/board-file.ts";
import type { FeedFigures } from "./feed-figures.ts";

/** Falling lock-out to reckon with where the board file says none, as a share of nominal: 4.5 V of 12 V (common practice, no source). */
const LEAST_LOCK_OUT_SHARE = 0.37;

/**
 * The limit this feed needs to start: the power of the highest healthy idle band at the lowest voltage at which the
 * converters still draw it, amps. Null for a board whose idle draw is not known.
 */
export function startDemandAmps(figures: FeedFigures, board: BoardFile | null): number | null {
  const nominal = figures.view.nominalVolts;
  if (board === null || nominal === null) return null;
  const tops = board.idleAmps
    .filter(({ of }) => of.includes(figures.view.feed) || Object.keys(board.feeds).length === 1)
    .flatMap(({ bands }) => [bands.normal?.[1], bands["core-alive"]?.[1]])
    .filter((top) => top !== undefined);
  if (tops.length === 0) return null;
  const lockOut = figures.view.boardFeed?.lockOutVolts?.[1] ?? LEAST_LOCK_OUT_SHARE * nominal;
  return (Math.max(...tops) * nominal) / lockOut;
}
