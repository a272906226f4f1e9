type Scale = readonly [from: number, divisor: number, prefix: string];

// The borders lie where three figures would round up to the next prefix: 0.9995 V is "1 V", never "1000 mV".
const SCALES: readonly Scale[] = [
  [999_500, 1e6, "M"],
  [999.5, 1e3, "k"],
  [0.9995, 1, ""],
  [0.000_999_5, 1e-3, "m"],
  [0.000_000_999_5, 1e-6, "µ"],
  [0, 1e-9, "n"],
];
// Repairers say "0.31 Ω", not "310 mΩ" (common practice, no source).
const OHM_SCALES: readonly Scale[] = SCALES.map((scale) => (scale[2] === "" ? [0.0995, 1, ""] : scale));
const SECOND_SCALES: readonly Scale[] = SCALES.filter(([from]) => from < 999);
const PLAIN: readonly Scale[] = [[0, 1, ""]];

function figure(value: number, unit: string, scales: readonly Scale[], expanded: number | null): string {
  const size = Math.abs(value);
  // Zero has no size of its own; a value smaller than its uncertainty is said on the scale of the uncertainty.
  const sized = Math.max(size, expanded ?? 0) || 1;
  const [, divisor, prefix] = scales.find(([from]) => sized >= from) ?? [0, 1, ""];
  const shown = value / divisor;
  if (expanded !== null && expanded > 0) {
    // Two figures of the uncertainty, the value to the same place (JCGM 100:2008, 7.2.6).
    const within = expanded / divisor;
    const places = Math.min(9, Math.max(0, 1 - Math.floor(Math.log10(within))));
    return `${shown.toFixed(places)} ${prefix}${unit} ± ${within.toFixed(places)} ${prefix}${unit}`;
  }
  const digits = Math.abs(shown) >= 99.95 ? 0 : Math.abs(shown) >= 9.995 ? 1 : 2;
  const text = shown.toFixed(digits).replace(/^-(0(\.0*)?)$/, "$1");
  return `${text.includes(".") ? text.replace(/\.?0+$/, "") : text} ${prefix}${unit}`;
}

/**
 * An amount in words, as every sentence, report and page says it: three figures and a prefix (`12.1 V`, `45 mA`,
 * `470 µF`). `value` is in the base unit that `unit` names. With an expanded uncertainty it is the value and the
 * uncertainty, this one rounded to two figures (JCGM 100:2008, 7.2.6).
 */
export function sayAmount(value: number, unit: string, expanded: number | null = null): string {
  return figure(value, unit, unit === "Ω" ? OHM_SCALES : SCALES, expanded);
}

/**
 * A limit in words, with four figures rounded inward: a lowest value never down, a highest never up. What is said to be
 * within such a limit is within.
 */
export function sayBound(limit: number, unit: string, side: "lowest" | "highest"): string {
  if (limit === 0) return `0 ${unit}`;
  const scales = unit === "Ω" ? OHM_SCALES : SCALES;
  const [, divisor, prefix] = scales.find(([from]) => Math.abs(limit) >= from) ?? [0, 1, ""];
  const shown = limit / divisor;
  const step = 10 ** (Math.floor(Math.log10(Math.abs(shown))) - 3);
  // A limit that is a multiple of the step must not be moved by its binary form.
  const steps = side === "lowest" ? Math.ceil(shown / step - 1e-6) : Math.floor(shown / step + 1e-6);
  return `${Number((steps * step).toPrecision(4))} ${prefix}${unit}`;
}

/**
 * A span of limits in words, each end rounded inward: "1.71 V to 1.89 V", "at least 300 Ω", "at most 0.5 V". An end that is
 * null is open; null where both are, since nothing is known then.
 */
export function saySpan([low, high]: readonly [number | null, number | null], unit: string): string | null {
  if (low === null) return high === null ? null : `at most ${sayBound(high, unit, "highest")}`;
  const least = sayBound(low, unit, "lowest");
  return high === null ? `at least ${least}` : `${least} to ${sayBound(high, unit, "highest")}`;
}

/** Volts in words: `12.1 V`, `45 mV`. As with all of these, with an expanded uncertainty behind it where one is given. */
export const sayVolts = (volts: number, expanded: number | null = null): string => sayAmount(volts, "V", expanded);
/** Amps in words: `1.23 A`, `4.5 mA`. */
export const sayAmps = (amps: number, expanded: number | null = null): string => sayAmount(amps, "A", expanded);
/** Ohms in words: `0.12 Ω`, `1.5 kΩ`. */
export const sayOhms = (ohms: number, expanded: number | null = null): string => sayAmount(ohms, "Ω", expanded);
/** Milliseconds in words: `350 ms`, `12 s`, and for what a scope takes `20 µs`. */
export const sayMs = (ms: number, expanded: number | null = null): string =>
  figure(ms / 1000, "s", SECOND_SCALES, expanded === null ? null : expanded / 1000);
/** Energy in words: `0.62 J` is `620 mJ`. */
export const sayJoules = (joules: number, expanded: number | null = null): string => sayAmount(joules, "J", expanded);
/** Power in words: `2.5 W`. */
export const sayWatts = (watts: number): string => sayAmount(watts, "W");
/** Charge in words: `12 mC`. */
export const sayCoulombs = (coulombs: number, expanded: number | null = null): string =>
  sayAmount(coulombs, "C", expanded);
/** Capacitance in words: `2.13 mF`, `470 µF`. */
export const sayFarads = (farads: number, expanded: number | null = null): string => sayAmount(farads, "F", expanded);
/** A share of one in words: `12 %`. */
export const sayShare = (share: number): string => figure(share * 100, "%", PLAIN, null);
