import type { WireBoard } from "../../shared/wire-board.ts";

export interface TreeNode {
  name: string;
  /** null: a feed's own volts are not known. */
  volts: number | null;
  isFeed: boolean;
  isSignal: boolean;
  column: number;
  row: number;
}

export interface PowerTree {
  nodes: TreeNode[];
  /** From what is needed to what needs it. */
  edges: [from: TreeNode, to: TreeNode][];
  columns: number;
  rows: number;
}

const bare = (need: string): string => need.replace(/^feed:/, "");

/**
 * The power tree as a drawing: feeds in the first column, each rail one column behind the last of what it needs, rows so
 * that a rail is near what it hangs on.
 */
export function treeLayout(tree: WireBoard["tree"]): PowerTree {
  const byName = new Map(tree.map((each) => [each.name, each]));
  const columns = new Map<string, number>();
  const columnOf = (name: string): number => {
    const known = columns.get(name);
    if (known !== undefined) return known;
    // Board files without circles only; should one come anyway, it ends here.
    columns.set(name, 0);
    const needs = byName.get(name)?.needs ?? [];
    const column = needs.length === 0 ? 0 : 1 + Math.max(...needs.map((need) => columnOf(bare(need))));
    columns.set(name, column);
    return column;
  };
  for (const { name } of tree) columnOf(name);
  const placed = new Map<string, TreeNode>();
  const most = Math.max(0, ...columns.values());
  for (let column = 0; column <= most; column++) {
    const here = tree.filter((each) => columns.get(each.name) === column);
    const wish = (each: WireBoard["tree"][number]): number => {
      const rows = each.needs.flatMap((need) => placed.get(bare(need))?.row ?? []);
      return rows.length === 0 ? 0 : rows.reduce((sum, row) => sum + row, 0) / rows.length;
    };
    here
      .toSorted((a, b) => wish(a) - wish(b))
      .forEach(({ name, volts, kind }, row) => {
        placed.set(name, { name, volts, isFeed: kind === "feed", isSignal: kind === "signal", column, row });
      });
  }
  const nodes = [...placed.values()];
  const edges = tree.flatMap((each) =>
    each.needs.flatMap((need): PowerTree["edges"] => {
      const [from, to] = [placed.get(bare(need)), placed.get(each.name)];
      return from === undefined || to === undefined ? [] : [[from, to]];
    }),
  );
  return { nodes, edges, columns: most + 1, rows: Math.max(0, ...nodes.map((each) => each.row + 1)) };
}
