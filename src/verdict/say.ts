import { UNNAMED_FEED } from "../../shared/draw-input.ts";

type Scale = readonly [from: number, divisor: number, prefix: string];

const MILLI: readonly Scale[] = [
  [0.9995, 1, ""],
  [0, 0.001, "m"],
];

function figure(value: number, unit: string, scales: readonly Scale[], expanded: number | null): string {
  const size = Math.abs(value);
  const [, divisor, prefix] = scales.find(([from]) => size >= from) ?? [0, 1, ""];
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

/** Volts in words: `12.1 V`, `45 mV`. As with all of these, with an expanded uncertainty behind it where one is given. */
export const sayVolts = (volts: number, expanded: number | null = null): string => figure(volts, "V", MILLI, expanded);
/** Amps in words: `1.23 A`, `4.5 mA`. */
export const sayAmps = (amps: number, expanded: number | null = null): string => figure(amps, "A", MILLI, expanded);
/** Ohms in words: `0.12 Ω`, `1.5 kΩ`. */
export const sayOhms = (ohms: number, expanded: number | null = null): string =>
  figure(
    ohms,
    "Ω",
    [
      [999.5, 1000, "k"],
      [0.0995, 1, ""],
      [0, 0.001, "m"],
    ],
    expanded,
  );
/** Milliseconds in words: `350 ms`, `12 s`, and for what a scope takes `20 µs`. */
export const sayMs = (ms: number, expanded: number | null = null): string =>
  figure(
    ms / 1000,
    "s",
    [
      [0.9995, 1, ""],
      [0.0000995, 0.001, "m"],
      [1e-12, 1e-6, "µ"],
      [0, 0.001, "m"],
    ],
    expanded === null ? null : expanded / 1000,
  );
export const sayJoules = (joules: number, expanded: number | null = null): string =>
  figure(joules, "J", MILLI, expanded);
export const sayCoulombs = (coulombs: number, expanded: number | null = null): string =>
  figure(coulombs, "C", MILLI, expanded);
/** Farads in words: `2.13 mF`, `470 µF`. */
export const sayFarads = (farads: number, expanded: number | null = null): string =>
  figure(
    farads,
    "F",
    [
      [0.0009995, 0.001, "m"],
      [0, 1e-6, "µ"],
    ],
    expanded,
  );
/** A share of one in words: `12 %`. */
export const sayShare = (share: number): string => figure(share * 100, "%", [[0, 1, ""]], null);
/** A feed at the head of a sentence; one that its file does not name has no name to say. */
export const sayFeed = (feed: string): string => (feed === UNNAMED_FEED ? "The feed" : `Feed ${feed}`);
/** Names in a sentence: `slot12 and aux`. */
export function sayNames(names: readonly string[]): string {
  return names.length < 2 ? (names[0] ?? "none") : `${names.slice(0, -1).join(", ")} and ${names[names.length - 1]}`;
}
