import type { WireSetting } from "../../shared/wire.ts";

const STEPS = [1, 2, 2.5, 5, 10];

/** A round step that divides a span into about `wanted` parts. */
export function roundStep(span: number, wanted: number): number {
  const rough = span / Math.max(1, wanted);
  const decade = 10 ** Math.floor(Math.log10(rough));
  return decade * (STEPS.find((each) => each * decade >= rough * 0.999) ?? 10);
}

/** The least and greatest of what is drawn, zero always among them, with room above. */
export function reach({
  values,
  settings,
  bound,
  least,
}: {
  values: readonly (number | null)[];
  settings: readonly WireSetting[];
  bound: "limitAmps" | "overVolts";
  /** The axis reaches at least so far. */
  least: number;
}): { low: number; high: number } {
  let [low, high] = [0, least];
  for (const each of values) {
    if (each === null) continue;
    if (each < low) low = each;
    if (each > high) high = each;
  }
  for (const each of settings) high = Math.max(high, each[bound] ?? 0);
  return { low, high: high * 1.12 };
}
