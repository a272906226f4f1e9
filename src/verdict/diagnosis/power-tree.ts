import type { BoardFile } from "../../../shared/files/board-file.ts";

/** The board's power tree, asked by name. Feeds and rails share one set of names: points. */
export interface PowerTree {
  board: BoardFile;
  /** Rails in an order in which each stands behind all it needs. */
  rails: readonly string[];
  /** The rail that is the feed itself behind its fuse, at the feed's own voltage; null where the board names none. */
  planeOf(feed: string): string | null;
  /** The feed whose plane this rail is, or null. */
  feedOfPlane(rail: string): string | null;
  /** True where `rail` needs `point` (a feed or a rail), directly or through others. */
  isBehind(rail: string, point: string): boolean;
  /**
   * The point a rail's power comes from: what the board's pairs say, else the feeds and planes it needs directly, else the one rail it
   * needs, else any feed behind it; the highest of several. A plane counts as its feed. Null where it needs nothing.
   */
  inputOf(rail: string): string | null;
}

/** The power tree of a board file that has passed its schema (no circles, every need known). */
export function powerTreeOf(board: BoardFile): PowerTree {
  const order: string[] = [];
  const needs = new Map<string, Set<string>>();
  const visit = (rail: string): Set<string> => {
    const known = needs.get(rail);
    if (known !== undefined) return known;
    const all = new Set<string>();
    for (const need of board.rails[rail]?.needs ?? []) {
      const point = need.startsWith("feed:") ? need.slice(5) : need;
      all.add(point);
      if (!need.startsWith("feed:")) for (const further of visit(point)) all.add(further);
    }
    needs.set(rail, all);
    order.push(rail);
    return all;
  };
  for (const rail of Object.keys(board.rails)) visit(rail);

  const feedOf = new Map<string, string>();
  const planes = new Map<string, string>();
  for (const rail of order) {
    const entry = board.rails[rail];
    const only = entry?.needs.length === 1 ? entry.needs[0] : undefined;
    if (entry === undefined || only === undefined || !only.startsWith("feed:") || entry.signal === true) continue;
    const feed = only.slice(5);
    if (board.feeds[feed]?.nominalVolts !== entry.volts || planes.has(feed)) continue;
    planes.set(feed, rail);
    feedOf.set(rail, feed);
  }

  const voltsOf = (point: string): number => board.feeds[point]?.nominalVolts ?? board.rails[point]?.volts ?? 0;
  const inputOf = (rail: string): string | null => {
    const own = feedOf.get(rail);
    if (own !== undefined) return own;
    const paired = Object.keys(board.coldPairs)
      .map((pair) => pair.split(":"))
      .filter((ends) => ends.includes(rail))
      .map((ends) => ends.find((end) => end !== rail) ?? rail)
      .map((end) => feedOf.get(end) ?? end)
      .filter((end) => end !== rail && voltsOf(end) > (board.rails[rail]?.volts ?? 0));
    const reachable = [...(needs.get(rail) ?? [])].filter((point) => Object.hasOwn(board.feeds, point));
    const direct = (board.rails[rail]?.needs ?? [])
      .map((need) => (need.startsWith("feed:") ? need.slice(5) : feedOf.get(need)))
      .filter((feed) => feed !== undefined);
    const rails = (board.rails[rail]?.needs ?? []).filter(
      (need) => Object.hasOwn(board.rails, need) && board.rails[need]?.signal !== true,
    );
    const highest = (points: readonly string[]): string | undefined =>
      [...points].sort((a, b) => voltsOf(b) - voltsOf(a))[0];
    const only = rails.length === 1 ? rails[0] : undefined;
    return highest(paired) ?? highest(direct) ?? only ?? highest(reachable) ?? null;
  };

  return {
    board,
    rails: order,
    planeOf: (feed) => planes.get(feed) ?? null,
    feedOfPlane: (rail) => feedOf.get(rail) ?? null,
    isBehind: (rail, point) => needs.get(rail)?.has(point) === true,
    inputOf,
  };
}
