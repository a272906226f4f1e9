import type { FaultData, FaultRow } from "../../../shared/files/fault-data.ts";
import type { BoardRoles } from "./board-roles.ts";
import { isHostDriven } from "./idle-points.ts";
import type { PowerTree } from "./power-tree.ts";

/** One fault of the fault data at one place of this board. */
export interface PlacedFault {
  row: FaultRow;
  /** The feed, rail or signal it sits at; null where the board file names no such point. */
  point: string | null;
  /** The point's name, or the part's. */
  element: string;
  kind: string;
  /** The feed whose plane it may load or cut off, or the rail where it is made from one. */
  feed: string | null;
  /** Relative weight at this place. */
  weight: number;
}

/**
 * The fault data laid onto a board: rows of a role go to the points of that role, sharing their weight; rows of a rail or
 * feed the board does not have are left out; rows for "other" go to each point that no row of their kind took, with their
 * whole weight. A broken enable chain sits at the enable signal where the board names one.
 */
export function placeFaults(
  tree: PowerTree,
  roles: BoardRoles,
  data: FaultData,
  { traits, passedOn }: { traits: ReadonlySet<string>; passedOn: ReadonlySet<string> },
): PlacedFault[] {
  const fits = (row: FaultRow): boolean => row.onlyWith?.some((trait) => traits.has(trait)) ?? true;
  const placed = data.rows.filter(fits).flatMap((row) => place(row, placesOf(row, roles), tree, true));
  const takes = new Set(placed.map((fault) => `${fault.element} ${fault.kind}`));
  for (const row of data.anyBoard.filter(fits)) {
    const isFree = (point: string | null): boolean =>
      point !== null &&
      (!row.whenPassedOn || passedOn.has(point)) &&
      (row.beside || !takes.has(`${point} ${row.kind}`));
    const free = placesOf(row, roles).filter(isFree);
    placed.push(...place(row, free, tree, false));
  }
  return placed.flatMap(eitherWay);
}

/** A fault that stops what is behind it on some boards, as two: on one board it stops all of it or none. */
function eitherWay(fault: PlacedFault): PlacedFault[] {
  const { stops } = fault.row;
  if (typeof stops !== "number" || stops <= 0 || stops >= 1) return [fault];
  return [
    { ...fault, row: { ...fault.row, stops: true }, weight: fault.weight * stops },
    { ...fault, row: { ...fault.row, stops: false }, weight: fault.weight * (1 - stops) },
  ];
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
      if (role === "other") return [...having(roles.signals), ...enablesOf(roles)];
      const found = having(roles.signals);
      return found.length > 0 ? found : [null];
    }
    default:
      return [null];
  }
}

/** An enable is stuck like any other signal, beside what its own rail's chain may have. */
const enablesOf = (roles: BoardRoles): string[] =>
  [...roles.signals].filter(([, role]) => role === "enable").map(([signal]) => signal);

/**
 * The properties of a board: its roles as "rail:core", and "host" where it is plugged into one: by a feed of a slot, a signal that the host
 * drives, a plug of a card by its name, or an auxiliary feed beside a rail that is called the core.
 */
export function boardTraits(tree: PowerTree, roles: BoardRoles): ReadonlySet<string> {
  const traits = new Set<string>();
  for (const role of roles.feeds.values()) traits.add(`feed:${role}`);
  for (const role of roles.rails.values()) traits.add(`rail:${role}`);
  for (const role of roles.signals.values()) traits.add(`signal:${role}`);
  const isDriven = [...roles.signals.keys()].some((signal) => isHostDriven(signal, tree, roles));
  const isPlug = [...roles.feeds.keys()].some((feed) => /aux|pcie|eps/i.test(feed));
  const hasCore = [...roles.rails].some(([rail, role]) => role === "core" && roles.named.has(rail));
  const isCard = traits.has("feed:slot") || (traits.has("feed:aux") && (isPlug || hasCore));
  if (isDriven || isCard) traits.add("host");
  return traits;
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
