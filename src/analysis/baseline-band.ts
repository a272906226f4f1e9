import { predictionFactor } from "./prediction-factor.ts";
import { univariateOf } from "./univariate.ts";

/** One good capture's level, and what else must be alike for two to be held against each other. */
export interface BaselineCapture {
  /** Which board of the kind; several captures of one board tell how well it repeats. */
  board: string;
  amps: number;
  /** Standard uncertainty of that level from its instruments, amps. */
  standardU: number;
  supply: string;
  leads: string;
  fans: string;
  host: string;
}

export interface BaselineBand {
  kind: "band";
  low: number;
  high: number;
  mean: number;
  boards: number;
  captures: number;
  /** Standard deviation of one board's captures about its own mean; null where no board was captured twice. */
  withinAmps: number | null;
  /** Standard deviation between the boards themselves, that of their captures taken off; never below zero. */
  betweenAmps: number;
  /** The band is as wide as the instruments allow, not as the boards differ. */
  atFloor: boolean;
}

export type BaselineAnswer =
  | BaselineBand
  | { kind: "not-comparable"; because: string }
  | { kind: "too-few"; because: string };

/**
 * The current that the next good board of this kind draws with 95 % probability: the prediction interval, mean ± k·s over the means of the
 * boards, k = t₀.₉₇₅,ₙ₋₁·√(1 + 1/n), n the number of boards, since captures of one board say little of the next. s joins the spread of
 * the means with what one capture of a board that was averaged may still be off (one-way analysis of variance, from memory).
 * Never narrower than two standard uncertainties of the difference of two captures (JCGM 100:2008, 5.1.2). Captures from other supplies,
 * leads, fans or hosts are not comparable, and are named; fewer than two boards are too few.
 */
export function baselineBandOf(captures: readonly BaselineCapture[]): BaselineAnswer {
  const [first] = captures;
  if (first === undefined) return { kind: "too-few", because: "There is no good capture of this kind." };
  for (const what of ["supply", "leads", "fans", "host"] as const) {
    const kinds = [...new Set(captures.map((each) => each[what]))];
    if (kinds.length > 1) {
      return { kind: "not-comparable", because: `The good captures have different ${what}: ${kinds.join(", ")}.` };
    }
  }
  const byBoard = new Map<string, number[]>();
  for (const { board, amps } of captures) byBoard.set(board, [...(byBoard.get(board) ?? []), amps]);
  const boards = [...byBoard.values()];
  if (boards.length < 2) {
    return {
      kind: "too-few",
      because: `All good captures are of one board, ${first.board}. How boards of this kind differ from each other is not known.`,
    };
  }
  const means = boards.map((each) => univariateOf(each).mean);
  const spare = captures.length - boards.length;
  let squares = 0;
  for (const [index, each] of boards.entries()) {
    for (const amps of each) squares += (amps - (means[index] ?? 0)) ** 2;
  }
  const within = spare === 0 ? null : squares / spare;
  const ofMeans = univariateOf(means);
  // Mean share of a capture's own scatter that averaging left in a board's mean.
  const left = boards.reduce((sum, each) => sum + 1 / each.length, 0) / boards.length;
  const one = Math.sqrt(ofMeans.stdDev ** 2 + (within ?? 0) * (1 - left));
  const worstU = Math.max(...captures.map((each) => each.standardU));
  const floor = 2 * Math.SQRT2 * worstU;
  const half = Math.max(floor, predictionFactor(boards.length) * one);
  return {
    kind: "band",
    low: ofMeans.mean - half,
    high: ofMeans.mean + half,
    mean: ofMeans.mean,
    boards: boards.length,
    captures: captures.length,
    withinAmps: within === null ? null : Math.sqrt(within),
    betweenAmps: Math.sqrt(Math.max(0, ofMeans.stdDev ** 2 - (within ?? 0) * left)),
    atFloor: half === floor,
  };
}
