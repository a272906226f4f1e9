import { amps, type TripCheck } from "./trip-rule.ts";

const mean = (values: readonly number[]): number => values.reduce((sum, each) => sum + each, 0) / values.length;

/** Least-squares slope of amps over minutes. */
function slopePerMin(points: readonly { atMs: number; amps: number }[]): number {
  const x = points.map((each) => each.atMs / 60_000);
  const y = points.map((each) => each.amps);
  const mx = mean(x);
  const my = mean(y);
  let above = 0;
  let below = 0;
  for (let each = 0; each < x.length; each++) {
    const dx = (x[each] ?? 0) - mx;
    above += dx * ((y[each] ?? 0) - my);
    below += dx * dx;
  }
  return below === 0 ? 0 : above / below;
}

/**
 * A draw that climbs and does not flatten: after a minute a slope above 5 % a minute that is not falling, or at any time
 * more than 1.5 times the level since the last step, with no step between. A healthy board's 2–8 % that flattens passes
 * (common practice, no source).
 */
export const creeping: TripCheck = ({ plan, live }) => {
  if (!live.risen || live.level.length < 8) return undefined;
  const whole = live.level.slice(0, -1);
  const first = mean(whole.slice(0, 4).map((each) => each.amps));
  const last = mean(whole.slice(-3).map((each) => each.amps));
  const noise = 0.02;
  if (first > noise && last > plan.trips.creepRatio * first) {
    return {
      rule: "creeping",
      board: true,
      because: `${live.feed} draws ${amps(last)}, more than ${plan.trips.creepRatio} times the ${amps(first)} it settled at, with no step between`,
    };
  }
  const lengthMs = (whole.at(-1)?.atMs ?? 0) - (whole[0]?.atMs ?? 0);
  if (lengthMs < plan.trips.creepAfterMs || first <= noise) return undefined;
  const half = Math.floor(whole.length / 2);
  const early = slopePerMin(whole.slice(0, half));
  const late = slopePerMin(whole.slice(half));
  if (late > plan.trips.creepSharePerMin * last && late >= 0.9 * early) {
    return {
      rule: "creeping",
      board: true,
      because: `${live.feed} climbs by ${((100 * late) / last).toFixed(1)} % a minute after ${(lengthMs / 1000).toFixed(0)} s and does not flatten`,
    };
  }
  return undefined;
};
