import type { FaultData } from "../../../shared/files/fault-data.ts";
import type { BoardRoles } from "./board-roles.ts";
import type { PowerTree } from "./power-tree.ts";
import { feedBehind } from "./predict-cold.ts";

/** The bounds of the cold states of a point, ohms. */
export interface ColdLimits {
  shortBelow: number;
  low: number;
  high: number;
  /** True where the board file gives no healthy span and the shipped one stands in. */
  isDefault: boolean;
}

/** Limits of a point, or of a pair as "A:B"; null where nothing is known of a healthy value. */
export function coldLimitsOf(point: string, tree: PowerTree, roles: BoardRoles, data: FaultData): ColdLimits | null {
  const { board } = tree;
  const [first = "", second] = point.split(":");
  if (second !== undefined) {
    const least = board.coldPairs[point] ?? board.coldPairs[`${second}:${first}`];
    const low = least ?? data.pairOhms;
    return {
      shortBelow: Math.min(data.pairShortOhms, low / 2),
      low,
      high: Number.POSITIVE_INFINITY,
      isDefault: least === undefined,
    };
  }
  const feed = feedBehind(first, tree);
  if (feed !== null) {
    const entry = board.feeds[feed];
    const shipped = data.feedOhms[roles.feeds.get(feed) === "logic" ? "logic" : "12"];
    const given = board.rails[first]?.coldOhms;
    const least = given?.[0] ?? entry?.coldOhmsMin;
    const low = least ?? shipped.coldOhms[0];
    return {
      shortBelow: Math.min(shipped.shortOhms, low / 2),
      low,
      high: Math.max(given?.[1] ?? shipped.coldOhms[1], 3 * low),
      isDefault: least === undefined,
    };
  }
  const role = data.roles.find((each) => each.role === roles.rails.get(first));
  const span = board.rails[first]?.coldOhms ?? role?.coldOhms;
  if (span === undefined) return null;
  const [low, high] = span;
  return {
    shortBelow: role === undefined ? low / 10 : Math.min(role.shortOhms, low / 2),
    low,
    high,
    isDefault: board.rails[first]?.coldOhms === undefined,
  };
}
