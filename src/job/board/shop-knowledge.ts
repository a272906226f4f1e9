import type { DrawKnowledge, PointKnowledge } from "../../../shared/files/board-knowledge.ts";
import { univariateOf } from "../../analysis/univariate.ts";
import { type GoodCapture, goodCaptures } from "../known/good-captures.ts";
import { learnedValues } from "../known/learned-values.ts";
import type { JobStore } from "../store/job-store.ts";

/**
 * Maker and model of an instrument's identity as IEEE 488.2 has it (10.14: maker, model, serial number, firmware); what has another form
 * may hold anything, and is not told.
 */
export const modelOf = (identity: string): string => {
  const fields = identity.split(",").map((each) => each.trim());
  return fields.length === 4 ? `${fields[0]},${fields[1]}` : "a supply that is not named";
};

/** The readings of the good boards of a kind in this record, by conditions and by point: nobody's board, owner or serial number by itself. */
export async function shopKnowledge(
  store: JobStore,
  kind: string,
): Promise<{ draws: DrawKnowledge[]; points: PointKnowledge[] }> {
  const groups = new Map<string, GoodCapture[]>();
  for (const capture of await goodCaptures(store, kind, null)) {
    const supply = capture.supply.split("; ").map(modelOf).join("; ");
    const key = JSON.stringify([capture.feeds, supply, capture.leads, capture.fans, capture.host]);
    groups.set(key, [...(groups.get(key) ?? []), { ...capture, supply }]);
  }
  const draws = [...groups].sort(([a], [b]) => (a < b ? -1 : 1)).map(([, captures]) => drawOf(captures));
  const points = (await learnedValues(store, kind))
    .map((each): PointKnowledge => each)
    .sort((a, b) => (`${a.point} ${a.quantity}` < `${b.point} ${b.quantity}` ? -1 : 1));
  return { draws, points };
}

function drawOf(captures: readonly GoodCapture[]): DrawKnowledge {
  const byBoard = new Map<string, number[]>();
  for (const { board, amps } of captures) byBoard.set(board, [...(byBoard.get(board) ?? []), amps]);
  const means = [...byBoard.values()].map((amps) => univariateOf(amps).mean);
  const { feeds = [], supply = "", leads = "", fans = "", host = "" } = captures[0] ?? {};
  const { mean, stdDev } = univariateOf(means);
  return {
    ...{ feeds, supply, leads, fans, host },
    boards: means.length,
    captures: captures.length,
    meanAmps: mean,
    betweenAmps: means.length < 2 ? null : stdDev,
    standardU: Math.max(...captures.map((each) => each.standardU)),
  };
}
