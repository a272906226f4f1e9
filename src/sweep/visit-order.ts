import type { BoardFile } from "../../shared/files/board-file.ts";

/**
 * The rails and signals of a board in the order a probe goes: each behind all it needs, so that the first that is missing
 * is where the board stops. Among those whose turn it may be, the nearest to the last where places are marked, else one
 * that needs the last (the next step of the same branch), else as the board file has them.
 */
export function visitOrder(board: BoardFile): string[] {
  const names = Object.keys(board.rails);
  const left = new Set(names);
  const needsOf = (rail: string): string[] =>
    (board.rails[rail]?.needs ?? []).filter((need) => !need.startsWith("feed:"));
  const order: string[] = [];
  while (left.size > 0) {
    const ready = names.filter((rail) => left.has(rail) && needsOf(rail).every((need) => !left.has(need)));
    const last = order.at(-1);
    const next = last === undefined ? ready[0] : nearest(ready, last, needsOf, board);
    // A circle is refused with the board file; whatever is left then still gets its turn.
    const rail = next ?? [...left][0];
    if (rail === undefined) break;
    order.push(rail);
    left.delete(rail);
  }
  return order;
}

function nearest(
  ready: readonly string[],
  last: string,
  needsOf: (rail: string) => string[],
  board: BoardFile,
): string | undefined {
  const cost = (rail: string): number => distance(board, last, rail) ?? (needsOf(rail).includes(last) ? 1 : 2);
  let best: { rail: string; cost: number } | undefined;
  for (const rail of ready) {
    const own = cost(rail);
    if (best === undefined || own < best.cost) best = { rail, cost: own };
  }
  return best?.rail;
}

/** The distance of two points on the photograph both are marked on, as a share of its diagonal; null where there is none. */
function distance(board: BoardFile, from: string, to: string): number | null {
  for (const { points } of board.photos ?? []) {
    const [a, b] = [points[from], points[to]];
    if (a !== undefined && b !== undefined) return Math.hypot(a.x - b.x, a.y - b.y) / Math.SQRT2;
  }
  return null;
}
