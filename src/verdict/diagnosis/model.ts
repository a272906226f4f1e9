import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { FaultData, ShopCauses } from "../../../shared/files/fault-data.ts";
import { type BoardRoles, boardRolesOf } from "./board-roles.ts";
import { type Hypothesis, hypothesesOf } from "./hypotheses.ts";
import { type Measurement, measurementsOf } from "./measurements.ts";
import { boardTraits, placeFaults } from "./place-faults.ts";
import { type PowerTree, powerTreeOf } from "./power-tree.ts";
import { shopWeights } from "./priors.ts";

/** The possible faults of a board and the measurements on it. */
export interface DiagnosisModel {
  tree: PowerTree;
  roles: BoardRoles;
  /** The kind of board: its roles, and "host" where it is plugged into one. */
  traits: ReadonlySet<string>;
  data: FaultData;
  hypotheses: readonly Hypothesis[];
  measurements: readonly Measurement[];
  roleOf: (rail: string) => string | undefined;
}

type BoardModel = Pick<DiagnosisModel, "tree" | "roles" | "traits">;

/** A board as the fault data sees it: its power tree, the roles of its rails, the kind of board. */
export function boardModel(board: BoardFile, data: FaultData): BoardModel {
  const tree = powerTreeOf(board);
  const roles = boardRolesOf(tree, data);
  return { tree, roles, traits: boardTraits(tree, roles) };
}

/** The possible faults of a board, the shop's confirmed jobs counted in. */
function boardHypotheses(
  { tree, roles, traits }: BoardModel,
  data: FaultData,
  shop: ShopCauses | null,
  passedOn: ReadonlySet<string>,
): Hypothesis[] {
  const placed = placeFaults(tree, roles, data, { traits, passedOn });
  return hypothesesOf(placed, shopWeights(placed, data, shop), data);
}

/**
 * The model of a board: the fault data laid onto its power tree, the shop's confirmed jobs counted in. `passedOn` are rails that read what
 * they are made from: only there a switch that passes it on is thought of.
 */
export function diagnosisModel(
  board: BoardFile,
  data: FaultData,
  shop: ShopCauses | null,
  passedOn: ReadonlySet<string> = new Set(),
): DiagnosisModel {
  const base = boardModel(board, data);
  return withHypotheses({ ...base, data }, boardHypotheses(base, data, shop, passedOn));
}

/** Lists what can be measured on a board and how it may be answered, without the chances of the answers, which take time to work out. */
export function possibleMeasurements(
  board: BoardFile,
  data: FaultData,
): Pick<Measurement, "id" | "slot" | "outcomes">[] {
  const base = boardModel(board, data);
  const { tree, roles, traits } = base;
  const hypotheses = boardHypotheses(base, data, null, new Set());
  return measurementsOf(tree, roles, traits, hypotheses, data, []).map(({ id, slot, outcomes }) => ({
    id,
    slot,
    outcomes,
  }));
}

/** The same board with other hypotheses. */
export function withHypotheses(
  base: Pick<DiagnosisModel, "tree" | "roles" | "traits" | "data">,
  hypotheses: readonly Hypothesis[],
): DiagnosisModel {
  const { tree, roles, traits, data } = base;
  return {
    tree,
    roles,
    traits,
    data,
    hypotheses,
    measurements: measurementsOf(tree, roles, traits, hypotheses, data),
    roleOf: (rail) => roles.rails.get(rail),
  };
}
