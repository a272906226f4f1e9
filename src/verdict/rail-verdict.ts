import { conformityProbability, rectangularUncertainty } from "../analysis/conformity.ts";

/** ILAC-G8:09/2019, 4.2.3, with the guard band as wide as the expanded uncertainty; and what was not measured. */
export type RailVerdictName = "pass" | "conditional-pass" | "conditional-fail" | "fail" | "not-measured";

export interface RailVerdict {
  verdict: RailVerdictName;
  /** Expanded uncertainty of the reading, k = 2; null without a reading. */
  expandedVolts: number | null;
  /** Probability that the rail is within its tolerance (JCGM 106:2012); null without a reading. */
  conformity: number | null;
}

/**
 * Whether a rail is within its limits, the meter's uncertainty in the guard band: pass where the whole of reading ± U is
 * inside, fail where all of it is outside, conditional in between, by the side the reading itself is on. Uncertainty comes as
 * `expandedVolts` (k = 2), else as a rectangular `halfWidthVolts` such as a meter's accuracy; a lead's unknown drop of up
 * to `leadDropVolts` widens it. `volts` null was not measured.
 */
export function railVerdict(input: {
  volts: number | null;
  lowVolts: number;
  highVolts: number;
  expandedVolts?: number;
  halfWidthVolts?: number;
  leadDropVolts?: number;
}): RailVerdict {
  const { volts, lowVolts, highVolts } = input;
  if (volts === null || !Number.isFinite(volts))
    return { verdict: "not-measured", expandedVolts: null, conformity: null };
  const ofMeter =
    input.expandedVolts === undefined ? rectangularUncertainty(input.halfWidthVolts ?? 0) : input.expandedVolts / 2;
  const u = Math.hypot(ofMeter, rectangularUncertainty(input.leadDropVolts ?? 0));
  const expandedVolts = 2 * u;
  const conformity = conformityProbability({ value: volts, standardUncertainty: u, low: lowVolts, high: highVolts });
  return { verdict: verdictOf(volts, lowVolts, highVolts, expandedVolts), expandedVolts, conformity };
}

function verdictOf(volts: number, low: number, high: number, guard: number): RailVerdictName {
  if (volts >= low + guard && volts <= high - guard) return "pass";
  if (volts >= low && volts <= high) return "conditional-pass";
  return volts >= low - guard && volts <= high + guard ? "conditional-fail" : "fail";
}
