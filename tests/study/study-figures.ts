import type { Calibration } from "../../src/verdict/calibrate.ts";
import { mustStayOpen } from "./study-judge.ts";
import type { StudyOutcome } from "./study-part.ts";

export const SPEEDS = [
  [5, 15],
  [15, 50],
  [50, 150],
  [150, 301],
] as const;

export interface Bin {
  n: number;
  said: number;
  found: number;
}

/** How often the likeliest candidate was the truth, by how likely it was said to be: ten bins of equal width. */
export function reliabilityOf(outcomes: readonly StudyOutcome[]): { bins: Bin[]; error: number } {
  const bins = Array.from({ length: 10 }, (): Bin => ({ n: 0, said: 0, found: 0 }));
  for (const { candidates, truth } of outcomes) {
    const [first] = candidates;
    // Where no candidate is named there is no probability to judge.
    if (first === undefined) continue;
    const bin = bins[Math.min(9, Math.floor(first.probability * 10))];
    if (bin === undefined) continue;
    bin.n++;
    bin.said += first.probability;
    bin.found += first.class === truth ? 1 : 0;
  }
  const n = bins.reduce((sum, bin) => sum + bin.n, 0);
  return { bins, error: bins.reduce((sum, bin) => sum + Math.abs(bin.said - bin.found), 0) / Math.max(1, n) };
}

export interface SpeedFigures {
  n: number;
  cannotTell: number;
  resolvable: number;
  rightShare: number;
  cannotTellShare: number;
  healthy: number;
  healthyResolvable: number;
  calibrationError: number;
}

/** The figures of the aim over some outcomes; shares are of what the meter can resolve and one try can decide. */
export function figuresOf(outcomes: readonly StudyOutcome[]): SpeedFigures {
  const decidable = outcomes.filter((each) => each.resolvable && !mustStayOpen(each));
  const share = (some: number) => some / Math.max(1, decidable.length);
  return {
    n: outcomes.length,
    cannotTell: outcomes.filter((each) => each.class === "cannot-tell").length / Math.max(1, outcomes.length),
    resolvable: decidable.length,
    rightShare: share(decidable.filter(({ right }) => right).length),
    cannotTellShare: share(decidable.filter((each) => each.class === "cannot-tell").length),
    healthy: outcomes.filter(({ healthy }) => healthy).length,
    healthyResolvable: outcomes.filter(({ healthy, resolvable }) => healthy && resolvable).length,
    calibrationError: reliabilityOf(outcomes).error,
  };
}

/** Fewer candidates than this under one key say too little. */
const LEAST_CANDIDATES = 8;
/** A feed that stays in its limit: overload comes first, however many hungry but healthy boards a study holds. */
const LEFT_ALONE = "cannot-tell/overload/";
/** A shift is held to zero as by a normal prior of this deviation, in log odds. */
const PRIOR_SIGMA = 1.5;

/**
 * What to add to the log odds under each key so that what is said agrees with what was found: the likeliest shift, held
 * to zero by a normal prior (Platt 1999, with the slope fixed at one). Newton's method.
 */
export function fittedCalibration(outcomes: readonly StudyOutcome[]): Calibration {
  const byKey = new Map<string, { odds: number; found: boolean }[]>();
  for (const { candidates, truth } of outcomes) {
    for (const { key, probability, class: name } of candidates) {
      if (key.startsWith(LEFT_ALONE)) continue;
      const held = Math.min(0.999, Math.max(0.001, probability));
      const list = byKey.get(key) ?? [];
      list.push({ odds: Math.log(held / (1 - held)), found: name === truth });
      byKey.set(key, list);
    }
  }
  const shifts: Record<string, number> = {};
  for (const key of [...byKey.keys()].sort()) {
    const list = byKey.get(key) ?? [];
    if (list.length < LEAST_CANDIDATES) continue;
    let shift = 0;
    for (let round = 0; round < 50; round++) {
      let slope = -shift / PRIOR_SIGMA ** 2;
      let curve = 1 / PRIOR_SIGMA ** 2;
      for (const { odds, found } of list) {
        const said = 1 / (1 + Math.exp(-odds - shift));
        slope += (found ? 1 : 0) - said;
        curve += said * (1 - said);
      }
      shift += Math.max(-1, Math.min(1, slope / curve));
    }
    shifts[key] = Math.round(shift * 100) / 100;
  }
  return shifts;
}
