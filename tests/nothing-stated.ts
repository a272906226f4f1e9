import type { RunConditions } from "../shared/permit.ts";

/** Nothing stated: every condition is unknown and widens the verdict. */
export const NOTHING_STATED: RunConditions = {
  host: "unknown",
  fans: "unknown",
  cooler: "unknown",
  polarityChecked: null,
  commonReturn: null,
  sidebandStrapped: null,
  pairsUnplugged: null,
};
