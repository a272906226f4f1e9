const inWords = (value: number, unit: string): string => `${Number(value.toPrecision(3))} ${unit}`;

/** Volts in words, three figures: 0.62 V, 11.9 V. */
export const sayVolts = (volts: number): string => inWords(volts, "V");
/** Amps in words; below 0.1 A in milliamps. */
export const sayAmps = (amps: number): string =>
  Math.abs(amps) < 0.1 ? inWords(amps * 1000, "mA") : inWords(amps, "A");
/** Ohms in words: 0.31 Ω, 12.4 kΩ. */
export const sayOhms = (ohms: number): string => (ohms >= 1000 ? inWords(ohms / 1000, "kΩ") : inWords(ohms, "Ω"));
/** A time in words: 412 ms, 3.2 s. */
export const sayMs = (ms: number): string => (ms >= 1000 ? inWords(ms / 1000, "s") : `${Math.round(ms)} ms`);
/** Energy in words; below 1 J in millijoules. */
export const sayJoules = (joules: number): string => (joules < 1 ? inWords(joules * 1000, "mJ") : inWords(joules, "J"));
/** Power in words: 0.62 W. */
export const sayWatts = (watts: number): string => inWords(watts, "W");
