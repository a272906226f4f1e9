import { at } from "./at.ts";

/**
 * The step a column of readings moves in, from the readings themselves: the least difference between distinct values,
 * if every value is a whole number of it. 0 where there is no such step of at least `least` (values from a simulation,
 * a scope). Never above `most`: a few readings far apart say nothing of the step. Looks at the first 5000 readings.
 */
export function readStepOf(values: Float64Array, span: { least: number; most: number }): number {
  const distinct = [...new Set(values.subarray(0, 5000))].filter(Number.isFinite).sort((a, b) => a - b);
  if (distinct.length < 3) return 0;
  let step = Number.POSITIVE_INFINITY;
  for (let i = 1; i < distinct.length; i++) step = Math.min(step, at(distinct, i) - at(distinct, i - 1));
  if (step < span.least) return 0;
  const whole = distinct.every((value) => Math.abs(value / step - Math.round(value / step)) < 0.02);
  return whole ? Math.min(step, span.most) : 0;
}
