/**
 * Shown before the first energising, in the report and on the page. Common practice of the trade, no source, but where a
 * document is named. Local codes and licensed practice decide.
 */
export const CAUTIONS: readonly string[] = [
  "This program's off is not an emergency stop. Keep the supply's own output switch within reach.",
  "The battery comes out first: laptops, phones and cards with a coin cell feed the board behind the supply's back.",
  "Check the polarity with a meter at the card end of the leads before they are mated; body diodes conduct from -0.5 V.",
  "Wear eye protection and do not lean over the board: capacitors and power stages can burst at first power. Put a shield over it for the first 12 V.",
  "12 V at tens of amps melts rings and bracelets: take them off; use fused leads. Keep fingers off parts: above 60 °C skin burns in seconds.",
  "An oscilloscope's ground clip is earth: on a supply that is earthed too it shorts whatever it touches. Clip it to ground only.",
  "Capacitors keep a charge: discharge through a resistor, never by a short. Fans may start at once: keep fingers and leads clear.",
  "No solvent on the board: isopropanol lights at 12 °C (NIOSH pocket guide). Power off, or 1 V at most, while anything is wet.",
  "Wear a wrist strap through 1 MΩ on a dissipative mat (ANSI/ESD S20.20), and none where hazardous voltages are open.",
  "The supply, the host's power unit and mains adaptors stay closed. Mains parts are for licensed persons; local codes decide.",
];

/** Of the general ones, the two that matter at every energising; the others are shown once a job and day. */
const EVERY_TIME: readonly string[] = [
  "This program's off is not an emergency stop: the supply's own switch within reach, no hand on the board.",
  "Polarity checked at the card end of the leads; eye protection on.",
];

/** What is shown before outputs come on: all of it the first time in a job and day, then the two that matter for this command. */
export const cautionsBefore = (own: readonly string[], wasShownToday: boolean): readonly string[] =>
  wasShownToday ? [...own, ...EVERY_TIME].slice(0, 2) : [...own, ...CAUTIONS];

/** Shown before the rails of a live board are probed, besides the general ones (common practice, no source). */
export const PROBE_CAUTIONS: readonly string[] = [
  "You will probe a live board: one probe at a time, black clipped to ground first, the other hand away. A slip between two pins can end a chip: insulate the probe down to its tip.",
];

/** Shown before each injection and again before its limit rises, besides the general ones (common practice, no source). */
export const INJECTION_CAUTIONS: readonly string[] = [
  "Every other feed is unplugged and the leads are on the rail's own side: what is injected elsewhere may reach the chip.",
  "No fingers on the board: a part that takes the current burns skin below 1 W, and a spot above 80 °C means stop. Look with a thermal camera, with the difference to before: shiny metal reads cold.",
  "Alcohol only up to 1 V (--alcohol keeps the cap there), in drops, never pools, with no hot air or iron near; freeze spray burns skin, makes static and may be flammable. Ventilate.",
  "Stop at smoke, at smell, or when the chip itself is what gets warm.",
];
