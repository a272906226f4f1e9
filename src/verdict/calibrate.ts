import type { Candidate, DrawClass } from "../../shared/draw-verdict.ts";
import type { Finding } from "./finding.ts";

/** The shift to add to the log odds of a candidate, by `calibrationKey`; a key that is not there adds nothing. */
export type Calibration = Readonly<Record<string, number>>;

/** Certainty is drawn in to this, so that what is less sure still reads as less: boards on a bench differ from a study's. */
const MOST = 0.99;
const LEAST = 0.005;

/** Which candidates share a correction: class of the verdict, likeliest candidate, this candidate. */
export const calibrationKey = (verdict: DrawClass, first: DrawClass, candidate: DrawClass): string =>
  verdict === first && first === candidate ? verdict : `${verdict}/${first}/${candidate}`;

/**
 * The candidates with their log odds moved by what a study found missing (Platt scaling with a slope of one), at most 0.99
 * each and never above one together. A class that was given stays first.
 */
export function calibrated(finding: Finding, candidates: readonly Candidate[], calibration: Calibration): Candidate[] {
  const [first] = candidates;
  if (first === undefined) return [];
  const moved = candidates.map((each) => {
    const key = calibrationKey(finding.class, first.class, each.class);
    const shift = finding.outsideStudy === true ? 0 : (calibration[key] ?? 0);
    const held = Math.min(0.999, Math.max(1e-6, each.probability));
    const odds = Math.log(held / (1 - held)) + shift;
    return { class: each.class, probability: MOST / (1 + Math.exp(-odds)) };
  });
  const total = moved.reduce((sum, { probability }) => sum + probability, 0);
  const scale = total > 1 ? 0.999 / total : 1;
  const rounded = moved.map((each) => ({
    class: each.class,
    probability: Math.floor(each.probability * scale * 1000) / 1000,
  }));
  const byProbability = (a: Candidate, b: Candidate) => b.probability - a.probability;
  const [own, ...rest] = rounded;
  if (finding.class === "cannot-tell" || own === undefined) {
    // An undecided finding names two, however unlikely the second.
    return rounded.sort(byProbability).filter(({ probability }, index) => index < 2 || probability >= LEAST);
  }
  return [own, ...rest.filter(({ probability }) => probability >= LEAST).sort(byProbability)];
}
