import type { FaultData, FaultRow } from "../../../shared/fault-data.ts";
import type { BoardRoles } from "./board-roles.ts";
import type { PowerTree } from "./power-tree.ts";

/** One fault of the fault data at one place of this board. */
export interface PlacedFault {
  row: FaultRow;
  /** The feed, rail or signal it sits at; null where the board file names no such point. */
  point: string | null;
  /** The point's name, or the part's. */
  element: string;
  kind: string;
  /** The feed whose plane it may load or cut off. */
  feed: string | null;
  /** Relative weight at this place. */
  weight: number;
}

/**
 * The fault data laid onto a board: rows of a role go to the points of that role, sharing their weight; rows of a rail or
 * feed the board does not have are left out; rows for "other" go to each point that no row of their kind took, with their
 * whole weight. A broken enable chain sits at the enable signal where the board names one.
 */
export function placeFaults(tree: PowerTree, roles: BoardRoles, data: FaultData): PlacedFault[] {
  const placed = data.rows.flatMap((row) => place(row, placesOf(row, roles), tree, true));
  const takes = new Set(placed.map((fault) => `${fault.element} ${fault.kind}`));
  for (const row of data.anyBoard) {
    const free = placesOf(row, roles).filter((point) => point !== null && !takes.has(`${point} ${row.kind}`));
    placed.push(...place(row, free, tree, false));
  }
  return placed;
}

/** Points a row sits at; null stands for a part or signal that is no point of this board. */
function placesOf(row: FaultRow, roles: BoardRoles): (string | null)[] {
  const [where = "", role = ""] = row.at.split(":");
  const having = (map: ReadonlyMap<string, string>): string[] =>
    [...map].filter(([, each]) => each === role).map(([point]) => point);
  switch (where) {
    case "feed":
      if (role === "12")
        return [...roles.feeds].filter(([, each]) => each === "aux" || each === "slot").map(([feed]) => feed);
      return role === "other" ? [...roles.feeds.keys()] : having(roles.feeds);
    case "rail":
      return role === "each" || role === "other" ? [...roles.rails.keys()] : having(roles.rails);
    case "signal": {
      const found = having(roles.signals);
      return found.length > 0 || role === "other" ? found : [null];
    }
    default:
      return [null];
  }
}

function place(row: FaultRow, places: readonly (string | null)[], tree: PowerTree, shares: boolean): PlacedFault[] {
  const [, role = ""] = row.at.split(":");
  return places.map((at) => {
    const point = at !== null && row.kind === "not-enabled" ? (enableOf(at, tree) ?? at) : at;
    const feed = point === null ? null : Object.hasOwn(tree.board.feeds, point) ? point : tree.inputOf(point);
    return {
      row,
      point,
      element: point ?? role,
      kind: point !== at ? "stuck" : row.kind,
      feed,
      weight: shares ? row.weight / places.length : row.weight,
    };
  });
}

/** The signal among what a rail needs that is its enable. */
export function enableOf(rail: string, tree: PowerTree): string | undefined {
  return tree.board.rails[rail]?.needs.find(
    (need) => tree.board.rails[need]?.signal === true && /enable|(^|[-_.])en([-_.]|$)/i.test(need),
  );
}
