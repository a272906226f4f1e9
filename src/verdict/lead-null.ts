import { counted } from "../../shared/words/counted.ts";
import { univariateOf } from "../analysis/univariate.ts";

/** Leads with more are to be replaced, not nulled (a meter maker's advice). */
const WORN_OHMS = 1;
/** More is no lead at all: the probes were not together. */
const MOST_OHMS = 2;
/** Contact of hand-held needles repeats within this, ohms (common practice, no source). */
const STEADY_OHMS = 0.05;
const LEAST_READINGS = 5;

export type LeadNullJudgement =
  | { kind: "good"; ohms: number; spreadOhms: number; remark: string | null }
  | { kind: "refused"; because: string };

/**
 * The ohms that the shorted probes read, or the reason why these readings are no lead null: too few, not steady (their standard
 * deviation over 0.05 Ω), under zero by more than that, or over 2 Ω. `null` stands for an overload.
 */
export function judgeLeadNull(readings: readonly (number | null)[]): LeadNullJudgement {
  if (readings.includes(null))
    return { kind: "refused", because: "the probes were not in contact: the meter read an open circuit" };
  const values = readings.filter((each) => each !== null);
  if (values.length < LEAST_READINGS) {
    const because = `${counted(values.length, "reading")} came; ${LEAST_READINGS} are needed`;
    return { kind: "refused", because };
  }
  const { mean, stdDev } = univariateOf(values);
  const ohms = Number(mean.toPrecision(4));
  if (mean > MOST_OHMS) {
    return {
      kind: "refused",
      because: `${ohms} Ω is too much for leads; hold the tips together, and replace leads above 1 Ω`,
    };
  }
  if (stdDev > STEADY_OHMS) {
    const spread = stdDev.toPrecision(2);
    return { kind: "refused", because: `the contact is unsteady: ±${spread} Ω; at most ±${STEADY_OHMS} Ω is allowed` };
  }
  if (mean < -STEADY_OHMS) {
    return { kind: "refused", because: `${ohms} Ω is negative: correct the meter's own zero first` };
  }
  const remark = mean > WORN_OHMS ? `${ohms} Ω is high for leads; replace them` : null;
  return { kind: "good", ohms: Math.max(0, ohms), spreadOhms: stdDev, remark };
}
