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

/** The model of a board: the fault data laid onto its power tree, the shop's confirmed jobs counted in. */
/**
 * `passedOn` are rails that read what they are made from: only there a switch that passes it on is thought of.
 */
export function diagnosisModel(
  board: BoardFile,
  data: FaultData,
  shop: ShopCauses | null,
  passedOn: ReadonlySet<string> = new Set(),
): DiagnosisModel {
  const tree = powerTreeOf(board);
  const roles = boardRolesOf(tree, data);
  const traits = boardTraits(tree, roles);
  const placed = placeFaults(tree, roles, data, { traits, passedOn });
  const hypotheses = hypothesesOf(placed, shopWeights(placed, data, shop), data);
  return withHypotheses({ tree, roles, traits, data }, hypotheses);
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
