/** The error of a meter without a description: a share of the reading and ohms (common practice, no source). */
export const USUAL_OHMS_ERROR = { share: 0.01, ohms: 0.1 };
/** Needle probes repeat within this, ohms; four wires do not see it (common practice, no source). */
export const CONTACT_OHMS = 0.1;
/** Four wires, or a known current and a millivoltmeter (common practice, no source). */
const FOUR_WIRE_ERROR = { share: 0.01, ohms: 0.002 };

/**
 * Expanded uncertainty (k = 2) of a cold reading whose meter is not known, ohms: half-widths of rectangular errors divided by √3, added in
 * squares (JCGM 100:2008, 4.3.7 and 5.1.2). About 0.17 Ω with two wires whose leads were taken off, 3 mΩ with four.
 */
export function expandedColdOhms(ohms: number, fourWire: boolean): number {
  const { share, ohms: offset } = fourWire ? FOUR_WIRE_ERROR : USUAL_OHMS_ERROR;
  return (2 * Math.hypot(share * ohms + offset, fourWire ? 0 : CONTACT_OHMS)) / Math.sqrt(3);
}
