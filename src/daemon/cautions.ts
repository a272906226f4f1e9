/**
 * Shown before the first energising, in the report and on the page. Common practice of the trade, no source, but where a
 * document is named. Local codes and licensed practice decide.
 */
export const CAUTIONS: readonly string[] = [
  "This program's off is not an emergency stop. Keep the supply's own output switch within reach.",
  "Check the polarity with a meter at the card end of the leads before they are mated; body diodes conduct from -0.5 V.",
  "Wear eye protection and do not lean over the board: capacitors and power stages can burst at first power. Put a shield over it for the first 12 V.",
  "12 V at tens of amps melts rings and bracelets: take them off; use fused leads. Keep fingers off parts: above 60 °C skin burns in seconds.",
  "Capacitors keep a charge: discharge through a resistor, never by a short. Fans may start at once: keep fingers and leads clear.",
  "No solvent on the board: isopropanol lights at 12 °C (NIOSH pocket guide). Power off, or 1 V at most, while anything is wet.",
  "Wear a wrist strap through 1 MΩ on a dissipative mat (ANSI/ESD S20.20), and none where hazardous voltages are open.",
  "The supply, the host's power unit and mains adaptors stay closed. Mains parts are for licensed persons; local codes decide.",
];
