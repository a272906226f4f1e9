import type { DrawClass } from "../../../shared/draw-verdict.ts";
import type { DiagnosisReadings } from "../../../shared/record/diagnosis.ts";
import { sayVolts } from "../../../shared/words/amounts.ts";
import type { Evidence } from "./evidence.ts";
import type { DiagnosisModel } from "./model.ts";
import { DRAWS } from "./predict-draw.ts";
import type { Sag } from "./sagging-inputs.ts";
import { weigh } from "./weigh.ts";

/**
 * How much likelier each draw makes a supply that stays in its limit: an overload does by its nature, a dead short pulls lower still, and
 * a board that is well does where the limit was set too low for its start (common practice, no source).
 */
const SAGS: Partial<Record<DrawClass, number>> = {
  overload: 1,
  "dead-short": 0.2,
  retrying: 0.1,
  "partly-up": 0.05,
  "core-alive": 0.05,
  normal: 0.05,
};

/** A sagging input as the draw that it shows, where no draw was named. */
export function sagEvidence(sags: readonly Sag[], readings: DiagnosisReadings, model: DiagnosisModel): Evidence[] {
  const draw = model.measurements.find((each) => each.slot.in === "draw");
  const [sag] = sags;
  if (sag === undefined || draw === undefined) return [];
  if (readings.draw !== undefined && readings.draw !== "cannot-tell") return [];
  const weights = DRAWS.map((each) => SAGS[each] ?? 0);
  return [
    {
      text: `${sag.point} reads ${sayVolts(sag.volts)} while powered: the supply is in its current limit`,
      likelihood: weigh(draw.chance, weights),
      measurement: null,
      outcome: "overload",
      proof: "draw",
      powered: true,
      seen: [],
    },
  ];
}
