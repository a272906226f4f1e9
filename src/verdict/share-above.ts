import { conformityProbability } from "../analysis/conformity.ts";

/** Probability, 0 to 1, that what was read as `value` with standard uncertainty `u` is truly above `edge`; a half at the edge. */
export const shareAbove = (value: number, edge: number, u: number): number =>
  conformityProbability({ value, standardUncertainty: u, low: edge });
