import type { VerdictLimits } from "./verdict-limits.ts";

/** A climb as it was read: slope of the whole and second half's less the first's, shares of the level a minute, with their standard uncertainties. */
export interface Climb {
  perMin: number;
  bendPerMin: number;
  u: number;
  bendU: number;
  lengthMs: number;
}

/** Slope and bend that one kind of climb would show, and how likely it is among its own kind. */
interface Course {
  perMin: number;
  bendPerMin: number;
  weight: number;
}

/** Shares of warming looked at, in standard deviations of their logarithm about the typical one, which is 0.5 (so 2–8 % is nine in ten). */
const WARM_STEPS = [-2.5, -2, -1.5, -1, -0.5, 0, 0.5, 1, 1.5, 2, 2.5];
const WARM_SIGMA = 0.5;
/** Time constants of boards that warm, ms (common practice, no source). */
const WARM_TAUS_MS = [45_000, 60_000, 100_000, 160_000, 300_000];
/** Healthy boards that do not warm to speak of. */
const STILL_SHARE = 0.35;
/** A leak grows by itself with such time constants; the last is as good as a straight line. */
const LEAK_TAUS_MS = [5000, 15_000, 30_000, 60_000, 120_000, 1e7];
/** Slopes of leaks looked at: this many, evenly on a logarithmic scale up to the fastest, shares a minute. */
const LEAK_STEPS = 24;
const LEAK_MOST_PER_MIN = 10;
/** The part that both models leave out: a tenth of the slope and 0.3 % a minute. */
const MODEL_SHARE = 0.1;
const MODEL_PER_MIN = 0.003;
/** Degrees of freedom of the errors' distribution: tails heavier than normal, so that of two courses which both fit badly the nearer counts. */
const FREEDOM = 8;

/**
 * Probability, 0 to 1, that a climb is a leak that heats itself and not a board that warms: the likelihood of its slope and
 * bend under both (Bayes), each kind averaged over what it may be: warming by `warmShare`, give or take, and
 * flattening; leaks that begin at `creepLeastPerMin` or more and go straight on or ever faster.
 */
export function creepShare(climb: Climb, limits: VerdictLimits): number {
  const warm = density(climb, warmCourses(climb.lengthMs, limits));
  const leak = density(climb, leakCourses(climb.lengthMs, limits));
  return (limits.creepPrior * leak) / (limits.creepPrior * leak + (1 - limits.creepPrior) * warm);
}

function density({ perMin, bendPerMin, u, bendU }: Climb, courses: readonly Course[]): number {
  let sum = 0;
  for (const course of courses) {
    const ownU = Math.hypot(u, MODEL_SHARE * course.perMin, MODEL_PER_MIN);
    const ownBendU = Math.hypot(bendU, 2 * MODEL_SHARE * course.perMin, 2 * MODEL_PER_MIN);
    const off = (perMin - course.perMin) / ownU;
    const bendOff = (bendPerMin - course.bendPerMin) / ownBendU;
    sum +=
      (course.weight * (1 + (off * off + bendOff * bendOff) / FREEDOM) ** (-(FREEDOM + 2) / 2)) / (ownU * ownBendU);
  }
  return sum;
}

/** Slope and bend between the levels at the beginning, the middle and the end. */
const courseOf = (levels: readonly [number, number, number], lengthMs: number, weight: number): Course => {
  const halfMin = lengthMs / 120_000;
  const [first, second] = [(levels[1] - levels[0]) / halfMin, (levels[2] - levels[1]) / halfMin];
  return { perMin: (first + second) / 2, bendPerMin: second - first, weight };
};

function warmCourses(lengthMs: number, { warmShare }: VerdictLimits): Course[] {
  const courses: Course[] = [{ perMin: 0, bendPerMin: 0, weight: STILL_SHARE }];
  const weights = WARM_STEPS.map((step) => Math.exp((-step * step) / 2));
  const total = weights.reduce((sum, weight) => sum + weight, 0) * WARM_TAUS_MS.length;
  for (const tau of WARM_TAUS_MS) {
    WARM_STEPS.forEach((step, index) => {
      const share = warmShare * Math.exp(step * WARM_SIGMA);
      const level = (ms: number) => -share * Math.expm1(-ms / tau);
      const weight = ((1 - STILL_SHARE) * (weights[index] ?? 0)) / total;
      courses.push(courseOf([0, level(lengthMs / 2), level(lengthMs)], lengthMs, weight));
    });
  }
  return courses;
}

function leakCourses(lengthMs: number, { creepLeastPerMin }: VerdictLimits): Course[] {
  const courses: Course[] = [];
  const span = Math.log(LEAK_MOST_PER_MIN / creepLeastPerMin);
  const weight = 1 / (LEAK_TAUS_MS.length * LEAK_STEPS);
  for (const tau of LEAK_TAUS_MS) {
    for (let step = 0; step < LEAK_STEPS; step++) {
      const perMin = creepLeastPerMin * Math.exp((span * (step + 0.5)) / LEAK_STEPS);
      const level = (ms: number) => ((perMin * tau) / 60_000) * Math.expm1(ms / tau);
      courses.push(courseOf([0, level(lengthMs / 2), level(lengthMs)], lengthMs, weight));
    }
  }
  return courses;
}
