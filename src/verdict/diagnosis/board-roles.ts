import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { FaultData } from "../../../shared/files/fault-data.ts";
import type { PowerTree } from "./power-tree.ts";

/** Which part each point of a board plays in the fault data. */
export interface BoardRoles {
  /** Feed to "aux", "slot", "logic" or "other". */
  feeds: ReadonlyMap<string, string>;
  /** Regulated rail to its role, or "other". Planes of feeds and signals are not in it. */
  rails: ReadonlyMap<string, string>;
  /** Signal to "reset", "clock", "ref-clock", "enable" or "other". */
  signals: ReadonlyMap<string, string>;
  /** Rails that have their role by their name, and not by their volts alone. */
  named: ReadonlySet<string>;
}

/**
 * Roles by name and voltage: a name of the fault data within the role's span of volts, longest name first; then, for a role
 * nobody took, of the rails whose volts fit the one with the nearest ohms. Feeds under 4 V are logic, those named "slot" slot, other
 * feeds of 10 to 14 V auxiliary, the rest "other".
 */
export function boardRolesOf(tree: PowerTree, data: FaultData): BoardRoles {
  const { board } = tree;
  const feeds = new Map<string, string>();
  for (const [feed, entry] of Object.entries(board.feeds)) {
    const volts = entry.nominalVolts;
    const isTwelve = volts >= 10 && volts <= 14;
    feeds.set(feed, volts < 4 ? "logic" : !isTwelve ? "other" : feed.toLowerCase().includes("slot") ? "slot" : "aux");
  }

  const signals = new Map<string, string>();
  const rails = new Map<string, string>();
  const open: string[] = [];
  for (const rail of tree.rails) {
    const entry = board.rails[rail];
    if (entry === undefined || tree.feedOfPlane(rail) !== null) continue;
    if (entry.signal === true) signals.set(rail, roleByName(rail, data.signals) ?? "other");
    else open.push(rail);
  }
  const fits = (rail: string, volts: readonly [number, number]): boolean => {
    const nominal = board.rails[rail]?.volts ?? Number.NaN;
    return nominal >= volts[0] && nominal <= volts[1];
  };
  const named = new Set<string>();
  const taken = new Set<string>();
  for (const rail of open) {
    const role = roleByName(
      rail,
      data.roles.filter((each) => fits(rail, each.volts)),
    );
    if (role === null) continue;
    rails.set(rail, role);
    named.add(rail);
    taken.add(role);
  }
  for (const role of data.roles) {
    if (taken.has(role.role)) continue;
    const free = open.filter((each) => !rails.has(each) && fits(each, role.volts));
    const rail = nearestByOhms(free, role.coldOhms, board);
    if (rail !== undefined) rails.set(rail, role.role);
  }
  for (const rail of open) if (!rails.has(rail)) rails.set(rail, "other");
  return { feeds, rails, signals, named };
}

/**
 * The rail whose healthy ohms are nearest to those of a role, since volts alone do not part a core from a small rail beside it; the first
 * in tree order where the board file gives none.
 */
function nearestByOhms(
  rails: readonly string[],
  span: readonly [number, number],
  board: BoardFile,
): string | undefined {
  const middle = ([low, high]: readonly [number, number]): number => Math.sqrt(Math.max(low, 1e-3) * high);
  const apart = (rail: string): number => {
    const own = board.rails[rail]?.coldOhms;
    return own === undefined ? Number.POSITIVE_INFINITY : Math.abs(Math.log(middle(own) / middle(span)));
  };
  return rails.reduce<string | undefined>(
    (nearest, each) => (nearest === undefined || apart(each) < apart(nearest) ? each : nearest),
    undefined,
  );
}

function roleByName(point: string, roles: readonly { role: string; names: readonly string[] }[]): string | null {
  const lower = point.toLowerCase();
  const found = roles
    .flatMap(({ role, names }) => names.map((name) => ({ role, name })))
    .filter(({ name }) => lower.includes(name))
    .sort((a, b) => b.name.length - a.name.length)[0];
  return found?.role ?? null;
}
