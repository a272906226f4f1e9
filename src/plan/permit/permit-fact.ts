import type { PermitItem } from "../../../shared/permit.ts";

/**
 * A condition before any waiver. `mayStayUnknown`: a statement about surroundings that does not hold up a run. `byNameOnly`: one
 * more measurement decides it, so only a waiver that names it reaches it.
 */
export type PermitFact = Omit<PermitItem, "waived"> & { mayStayUnknown?: boolean; byNameOnly?: boolean };

/** A condition in one line: what it asks, its state and the evidence. `ageMs` where the evidence has an age. */
export const fact = (
  id: string,
  feed: string | null,
  asks: string,
  state: PermitItem["state"],
  evidence: string,
  ageMs: number | null = null,
): PermitFact => ({
  id,
  feed,
  asks,
  state,
  evidence,
  ageMs,
});
