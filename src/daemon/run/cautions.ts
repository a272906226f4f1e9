/**
 * Shown before the first energising, in the report and on the page. Common practice of the trade, no source, but where a
 * document is named. Local codes and licensed practice decide.
 */
export const CAUTIONS: readonly string[] = [
  "This program's off is not an emergency stop. Keep the supply's own output switch within reach.",
  "The battery comes out first: laptops, phones and cards with a coin cell feed the board behind the supply's back.",
  "Check the polarity with a meter at the card end of the leads before you connect them; body diodes conduct from -0.5 V.",
  "Wear eye protection and do not lean over the board: capacitors and power stages can burst at the first power-up. Put a shield over it for the first 12 V.",
  "12 V at tens of amps melts rings and bracelets: take them off. Use fused leads. Do not touch parts: above 60 °C they burn skin in seconds.",
  "The ground clip of an oscilloscope is connected to earth. If the supply is earthed too, the clip shorts whatever it touches. Clip it to ground only.",
  "Capacitors keep a charge: discharge them through a resistor, never with a short. Fans may start at once: keep fingers and leads clear.",
  "No solvent on the board: isopropanol catches fire from 12 °C on (NIOSH pocket guide). While anything is wet: power off, or 1 V at most.",
  "Wear a wrist strap with 1 MΩ on a dissipative mat (ANSI/ESD S20.20), but never near exposed hazardous voltage.",
  "Do not open the supply, the host's power unit or mains adaptors. Only licensed persons work on mains parts; local codes decide.",
];

/** Of the general ones, the two that matter at every energising; the others are shown once a job and day. */
const EVERY_TIME: readonly string[] = [
  "This program's off is not an emergency stop: the supply's own switch within reach, no hand on the board.",
  "Polarity checked at the card end of the leads; eye protection on.",
];

/** The cautions before outputs come on: all of it the first time in a job and day, then the two that matter for this command. */
export const cautionsBefore = (own: readonly string[], wasShownToday: boolean): readonly string[] =>
  wasShownToday ? [...own, ...EVERY_TIME].slice(0, 2) : [...own, ...CAUTIONS];

/** Shown before the rails of a live board are probed, besides the general ones (common practice, no source). */
export const PROBE_CAUTIONS: readonly string[] = [
  "You will probe a live board. Use one probe at a time, clip black to ground first, and keep the other hand away. A slip between two pins can destroy a chip: insulate the probe down to its tip.",
];

/** Shown before each injection and again before its limit rises, besides the general ones (common practice, no source). */
export const INJECTION_CAUTIONS: readonly string[] = [
  "Unplug every other feed, and put the leads on the rail's own side of the inductor: a current injected elsewhere may reach the chip.",
  "Do not touch the board: a part that takes the current burns skin at less than 1 W. Stop if a spot is above 80 °C. Look with a thermal camera and compare with a picture from before, because shiny metal reads cold.",
  "Alcohol only up to 1 V (--alcohol keeps the cap there), in drops, never in pools, with no hot air or iron near. Freeze spray burns skin, causes static and may be flammable. Ventilate.",
  "Stop if there is smoke or smell, or if the chip itself gets warm.",
];

/** Shown before a board is switched on again and again, besides the general ones (common practice, no source). */
export const CYCLE_CAUTIONS: readonly string[] = [
  "The board is switched on again and again without you: keep everything that burns away from it, have a smoke alarm in the room, and somebody in the building.",
  "Hot parts stay hot between starts: the off times matter, and they are lengthened if the board's longest on-time requires it.",
];
