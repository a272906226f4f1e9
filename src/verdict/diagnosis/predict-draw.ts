import type { DrawClass } from "../../../shared/draw-verdict.ts";
import type { FaultData } from "../../../shared/files/fault-data.ts";
import type { Hypothesis } from "./hypotheses.ts";
import type { PlacedFault } from "./place-faults.ts";
import type { PowerTree } from "./power-tree.ts";
import { type ColdShares, loadsPlane, predictCold } from "./predict-cold.ts";
import { isStopped } from "./predict-volts.ts";

/** Classes a draw may be found in, in the order of the shares below. `cannot-tell` says nothing and is none of them. */
export const DRAWS = [
  "open-input",
  "dead-short",
  "overload",
  "retrying",
  "standby-only",
  "partly-up",
  "core-alive",
  "normal",
  "creeping",
] as const satisfies readonly DrawClass[];

/** Of two faults the one that shows first on the supply: short, overload, open, retrying, standby, alive, normal. */
const SEVERITY = [1, 2, 0, 3, 4, 5, 6] as const;

/** Chance of each draw class under a hypothesis, in the order of `DRAWS`, without slips. */
export function predictDraw(
  hypothesis: Hypothesis,
  tree: PowerTree,
  data: FaultData,
  roleOf: (rail: string) => string | undefined,
): number[] {
  const seven = hypothesis.faults.map((fault) => ofRow(fault, tree, roleOf));
  const columns = seven.length === 2 ? together(hypothesis.faults, seven) : (seven[0] ?? data.states.voltsDefault);
  const [open = 0, short = 0, overload = 0, retrying = 0, standby = 0, alive = 0, normal = 0] = columns;
  const regulated = tree.rails.filter((rail) => tree.feedOfPlane(rail) === null);
  const up = regulated.filter((rail) => !hypothesis.faults.some((fault) => isStopped(fault, rail, tree, roleOf)));
  const upShare = regulated.length === 0 ? 0.5 : up.length / regulated.length;
  // The table knows standby and alive; how far the tree comes up says how much of standby is "partly up".
  const partly = standby * (0.1 + 0.6 * upShare) + alive * 0.1;
  const leaks = hypothesis.faults.some((fault) => fault.kind === "leaky");
  const creeping = overload * (leaks ? 0.4 : 0.02);
  return [
    open,
    short,
    overload - creeping,
    retrying,
    standby * (0.9 - 0.6 * upShare),
    partly,
    alive * 0.9,
    normal,
    creeping,
  ];
}

/** A row for several rails has one draw for all; where the core does not wait for this rail, more of it is "alive". */
function ofRow(fault: PlacedFault, tree: PowerTree, roleOf: (rail: string) => string | undefined): readonly number[] {
  const { draw, at } = fault.row;
  if (at !== "rail:each" && at !== "rail:other" && at !== "signal:other") return draw;
  const cores = tree.rails.filter((rail) => roleOf(rail) === "core");
  const { point } = fault;
  if (cores.length === 0 || point === null) return draw;
  if (cores.some((core) => core === point || tree.isBehind(core, point))) return draw;
  const moved = (draw[4] ?? 0) * 0.7;
  return draw.map((share, column) => (column === 4 ? share - moved : column === 5 ? share + moved : share));
}

function together(faults: readonly PlacedFault[], columns: readonly (readonly number[])[]): number[] {
  const [first, second] = columns;
  const opening = faults.findIndex((fault) => fault.row.opens);
  if (opening !== -1 && faults.some((fault) => loadsPlane(fault) && fault.feed === faults[opening]?.feed)) {
    // The short is behind the open fuse: the supply sees the open feed.
    const seen = (columns[opening] ?? []).map((share, column) => (column === 1 || column === 2 ? 0 : share));
    const total = seen.reduce((sum, share) => sum + share, 0);
    return seen.map((share) => share / total);
  }
  const result = [0, 0, 0, 0, 0, 0, 0];
  SEVERITY.forEach((a, rankA) => {
    SEVERITY.forEach((b, rankB) => {
      const column = rankA <= rankB ? a : b;
      result[column] = (result[column] ?? 0) + (first?.[a] ?? 0) * (second?.[b] ?? 0);
    });
  });
  return result;
}

/** Chance that a 1 V probe of a feed finds a short, a partial short, or nothing: what its cold ohms come to. */
export function predictLowProbe(hypothesis: Hypothesis, feed: string, tree: PowerTree, data: FaultData): ColdShares {
  const cold = predictCold(hypothesis, { first: feed, second: null }, tree, data);
  const [short = 0, low = 0] = cold;
  return [short, low, 1 - short - low];
}
