import type { DrawInput } from "../../shared/draw-input.ts";
import { LEAST_LOCK_OUT_SHARE } from "./falls-under-load.ts";
import type { FeedFigures } from "./feed-figures.ts";

/**
 * The limit this feed needs to start: the power of the highest healthy idle band at the lowest voltage at which the
 * converters still draw it, amps. Null for a board whose idle draw is not known.
 */
export function startDemandAmps(
  figures: FeedFigures,
  { board, conditions }: Pick<DrawInput, "board" | "conditions">,
): number | null {
  const nominal = figures.view.nominalVolts;
  if (board === null || nominal === null) return null;
  // Fans that are off draw nothing at the start either.
  const fits = board.idleAmps.filter(
    ({ when }) => when.fans === undefined || conditions.fans === "unknown" || when.fans === conditions.fans,
  );
  const tops = (fits.length > 0 ? fits : board.idleAmps)
    .filter(({ of }) => of.includes(figures.view.feed) || Object.keys(board.feeds).length === 1)
    .flatMap(({ bands }) => [bands.normal?.[1], bands["core-alive"]?.[1]])
    .filter((top) => top !== undefined);
  if (tops.length === 0) return null;
  const lockOut = figures.view.boardFeed?.lockOutVolts?.[1] ?? LEAST_LOCK_OUT_SHARE * nominal;
  return (Math.max(...tops) * nominal) / lockOut;
}
