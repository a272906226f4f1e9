import type { FaultData, ShopCauses } from "../../../shared/files/fault-data.ts";
import type { PlacedFault } from "./place-faults.ts";

/**
 * Weights of the placed faults once a shop's confirmed jobs are counted in: the shipped shares count as `pseudoCount` jobs
 * and each confirmed job as one, shared between the places of its row as the shipped weights are. Sums to 1. A confirmed
 * cause that has no place on this board counts for nothing here.
 */
export function shopWeights(placed: readonly PlacedFault[], data: FaultData, shop: ShopCauses | null): number[] {
  const total = placed.reduce((sum, fault) => sum + fault.weight, 0);
  const rowWeight = new Map<string, number>();
  for (const fault of placed) rowWeight.set(fault.row.id, (rowWeight.get(fault.row.id) ?? 0) + fault.weight);
  const confirmed = (id: string): number => (rowWeight.has(id) ? (shop?.confirmed[id] ?? 0) : 0);
  const jobs = [...rowWeight.keys()].reduce((sum, id) => sum + confirmed(id), 0);
  const places = new Map<string, number>();
  for (const fault of placed) places.set(fault.row.id, (places.get(fault.row.id) ?? 0) + 1);
  return placed.map((fault) => {
    const ofRow = rowWeight.get(fault.row.id) ?? 0;
    const share = ofRow > 0 ? fault.weight / ofRow : 1 / (places.get(fault.row.id) ?? 1);
    return ((data.pseudoCount * fault.weight) / total + confirmed(fault.row.id) * share) / (data.pseudoCount + jobs);
  });
}
