import { at } from "./at.ts";

/** More of the charge than this left over, and something else than a capacitor and a resistor drew it. */
const MOST_UNEXPLAINED = 0.03;

/**
 * Input capacitance, farads, from a rise: least squares of the charge that went in on C·ΔV + G·∫V dt, over the readings
 * between `fromVolts` and `toVolts`, so a resistive load does not count as capacitance. Keep `toVolts` under the lock-out
 * of the converters. The figure is of low bias: ceramic capacitors lose some under voltage. Null for fewer than five
 * readings in that span, or where a capacitor and a resistor do not explain the charge. `amps` and `volts` must have been read together. `leadOhms` takes the lead's drop off the volts.
 */
export function inputCapacitanceOf(
  trace: { atMs: Float64Array; volts: Float64Array; amps: Float64Array },
  span: { fromVolts: number; toVolts: number; leadOhms: number },
): number | null {
  let charge = 0;
  let voltSeconds = 0;
  let used = 0;
  let startVolts = Number.NaN;
  let [cc, cg, gg, cq, gq, qq] = [0, 0, 0, 0, 0, 0];
  let before = -1;
  for (let i = 0; i < trace.atMs.length; i++) {
    const volts = at(trace.volts, i) - span.leadOhms * at(trace.amps, i);
    if (!Number.isFinite(volts)) continue;
    if (volts > span.toVolts) break;
    if (volts < span.fromVolts) continue;
    if (before < 0) startVolts = volts;
    else {
      const seconds = (at(trace.atMs, i) - at(trace.atMs, before)) / 1000;
      charge += ((at(trace.amps, i) + at(trace.amps, before)) / 2) * seconds;
      voltSeconds += ((volts + at(trace.volts, before) - span.leadOhms * at(trace.amps, before)) / 2) * seconds;
      const rise = volts - startVolts;
      cc += rise * rise;
      cg += rise * voltSeconds;
      gg += voltSeconds * voltSeconds;
      cq += rise * charge;
      gq += voltSeconds * charge;
      qq += charge * charge;
    }
    before = i;
    used++;
  }
  if (used < 5 || cc === 0) return null;
  const determinant = cc * gg - cg * cg;
  const slope = determinant > 1e-6 * cc * gg ? (cc * gq - cg * cq) / determinant : 0;
  // A load that draws backwards is noise: then the capacitor alone explains the charge.
  const conductance = Math.max(0, slope);
  const farads = (cq - conductance * cg) / cc;
  const unexplained = qq - farads * cq - conductance * gq;
  return farads > 0 && unexplained < MOST_UNEXPLAINED ** 2 * qq ? farads : null;
}
