type Scale = readonly [from: number, divisor: number, prefix: string];

const MILLI: readonly Scale[] = [
  [0.9995, 1, ""],
  [0, 0.001, "m"],
];

function figure(value: number, unit: string, scales: readonly Scale[]): string {
  const size = Math.abs(value);
  const [, divisor, prefix] = scales.find(([from]) => size >= from) ?? [0, 1, ""];
  const shown = value / divisor;
  const digits = Math.abs(shown) >= 99.95 ? 0 : Math.abs(shown) >= 9.995 ? 1 : 2;
  const text = shown.toFixed(digits).replace(/^-(0(\.0*)?)$/, "$1");
  return `${text.includes(".") ? text.replace(/\.?0+$/, "") : text} ${prefix}${unit}`;
}

/** Volts in words: `12.1 V`, `45 mV`. */
export const sayVolts = (volts: number): string => figure(volts, "V", MILLI);
/** Amps in words: `1.23 A`, `4.5 mA`. */
export const sayAmps = (amps: number): string => figure(amps, "A", MILLI);
/** Ohms in words: `0.12 Ω`, `1.5 kΩ`. */
export const sayOhms = (ohms: number): string =>
  figure(ohms, "Ω", [
    [999.5, 1000, "k"],
    [0.0995, 1, ""],
    [0, 0.001, "m"],
  ]);
/** Milliseconds in words: `350 ms`, `12 s`. */
export const sayMs = (ms: number): string =>
  figure(ms / 1000, "s", [
    [0.9995, 1, ""],
    [0, 0.001, "m"],
  ]);
export const sayJoules = (joules: number): string => figure(joules, "J", MILLI);
export const sayCoulombs = (coulombs: number): string => figure(coulombs, "C", MILLI);
/** A share of one in words: `12 %`. */
export const sayShare = (share: number): string => figure(share * 100, "%", [[0, 1, ""]]);
/** Names in a sentence: `slot12 and aux`. */
export function sayNames(names: readonly string[]): string {
  return names.length < 2 ? (names[0] ?? "none") : `${names.slice(0, -1).join(", ")} and ${names[names.length - 1]}`;
}
