import { sayAmps, sayVolts } from "../../../shared/words/amounts.ts";
import type { LookPoint } from "../machine/machine-state.ts";
import { type ShortSeen, sayShort } from "./dead-short.ts";
import type { Finding } from "./finding.ts";
import { checkPolarityFirst } from "./partial-short.ts";

/** Volts that hardly move with the current: a junction conducts, as with reversed leads or a body diode. */
export const junction = (seen: ShortSeen, low: LookPoint, high: LookPoint): Finding => ({
  rule: "junction",
  feed: seen.feed,
  board: true,
  because: `${checkPolarityFirst(seen)}${sayShort(seen)}; from ${sayAmps(low.amps)} to ${sayAmps(high.amps)} its voltage moved only from ${sayVolts(low.volts)} to ${sayVolts(high.volts)}: a junction, not a resistor`,
});

/**
 * The finding of two looks at different limits: `ohmic` where volts follow amps, `junction` where they hardly move, null where
 * the looks are too close or lie in between. The exponent of V ∝ Iⁿ is 1 for a resistor and near 0 for a junction
 * (arithmetic); 0.7 and 0.4 leave room for read-back steps and a junction's series resistance.
 */
export function twoLimitTest(low: LookPoint, high: LookPoint): "ohmic" | "junction" | null {
  if (!(low.volts > 0 && high.volts > 0 && low.amps > 0 && high.amps > 1.15 * low.amps)) return null;
  const exponent = Math.log(high.volts / low.volts) / Math.log(high.amps / low.amps);
  if (exponent >= 0.7) return "ohmic";
  return exponent <= 0.4 ? "junction" : null;
}
