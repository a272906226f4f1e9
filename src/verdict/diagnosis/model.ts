import type { BoardFile } from "../../../shared/board-file.ts";
import type { FaultData, ShopCauses } from "../../../shared/fault-data.ts";
import { type BoardRoles, boardRolesOf } from "./board-roles.ts";
import { type Hypothesis, hypothesesOf } from "./hypotheses.ts";
import { type Measurement, measurementsOf } from "./measurements.ts";
import { placeFaults } from "./place-faults.ts";
import { type PowerTree, powerTreeOf } from "./power-tree.ts";
import { shopWeights } from "./priors.ts";

/** What may be wrong with a board and what can be measured on it. */
export interface DiagnosisModel {
  tree: PowerTree;
  roles: BoardRoles;
  data: FaultData;
  hypotheses: readonly Hypothesis[];
  measurements: readonly Measurement[];
  roleOf: (rail: string) => string | undefined;
}

/** The model of a board: the fault data laid onto its power tree, the shop's confirmed jobs counted in. */
export function diagnosisModel(board: BoardFile, data: FaultData, shop: ShopCauses | null): DiagnosisModel {
  const tree = powerTreeOf(board);
  const roles = boardRolesOf(tree, data);
  const placed = placeFaults(tree, roles, data);
  const hypotheses = hypothesesOf(placed, shopWeights(placed, data, shop), data);
  return withHypotheses({ tree, roles, data }, hypotheses);
}

/** The same board with other hypotheses. */
export function withHypotheses(
  base: Pick<DiagnosisModel, "tree" | "roles" | "data">,
  hypotheses: readonly Hypothesis[],
): DiagnosisModel {
  const { tree, roles, data } = base;
  return {
    tree,
    roles,
    data,
    hypotheses,
    measurements: measurementsOf(tree, roles, hypotheses, data),
    roleOf: (rail) => roles.rails.get(rail),
  };
}
