import { local } from "../words/words.ts";

const STEPS = [1, 2, 2.5, 5, 10];
/** Seconds that divide minutes, hours and days as clocks do. */
const CLOCK_STEPS = [60, 120, 300, 600, 1200, 1800, 3600, 7200, 14_400, 21_600, 43_200, 86_400];

/** A round step that divides a span into about `wanted` parts. */
export function roundStep(span: number, wanted: number): number {
  const rough = span / Math.max(1, wanted);
  const decade = 10 ** Math.floor(Math.log10(rough));
  return decade * (STEPS.find((each) => each * decade >= rough * 0.999) ?? 10);
}

/** The same for seconds: from a minute on, steps of a clock. */
export function timeStep(span: number, wanted: number): number {
  const rough = span / Math.max(1, wanted);
  return rough <= 50 ? roundStep(span, wanted) : (CLOCK_STEPS.find((each) => each >= rough * 0.999) ?? 86_400);
}

/** A number with as many decimals as its step has, and no more, with the decimal mark of the language. */
export function inSteps(value: number, step: number): string {
  let decimals = 0;
  while (
    decimals < 9 &&
    Math.abs(step * 10 ** decimals - Math.round(step * 10 ** decimals)) > 1e-6 * step * 10 ** decimals
  )
    decimals++;
  return local((Math.abs(value) < step / 2 ? 0 : value).toFixed(decimals));
}
