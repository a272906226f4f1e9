import { sayAmps } from "../../shared/amounts.ts";
import type { DrawBaseline } from "../../shared/draw-baseline.ts";
import { type BaselineCapture, baselineBandOf } from "./baseline-band.ts";
import { univariateOf } from "./univariate.ts";

/** What a draw was taken under; null: not stated. */
export interface DrawSurroundings {
  supply: string | null;
  leads: string | null;
  fans: string | null;
  host: string | null;
}

/** So few boards that a prediction interval would hold almost anything: a fifth about their mean then (common practice, no source). */
const FEW_BOARDS = 3;
const FIFTH = 0.2;

const WHAT = ["supply", "leads", "fans", "host"] as const;

/**
 * The band of good boards for a draw under these surroundings: the prediction interval from three boards on, a fifth about the mean
 * from fewer. Captures from another supply, other leads, fans or host are not comparable: left out, and said. What the draw itself
 * does not state is taken to be as in the captures, where those agree, and said too.
 */
export function drawBaselineOf(
  captures: readonly BaselineCapture[],
  own: DrawSurroundings,
  of: readonly string[],
): DrawBaseline {
  const because: string[] = [];
  let alike = [...captures];
  for (const what of WHAT) {
    const stated = own[what];
    const fitting = stated === null ? alike : alike.filter((each) => each[what] === stated);
    const left = alike.length - fitting.length;
    if (left > 0) {
      const others = [...new Set(alike.filter((each) => each[what] !== stated).map((each) => each[what]))];
      because.push(
        `${counted(left, "good capture")} cannot be compared: ${what} was ${others.join(" or ")} then and is ${stated ?? "not stated"} now.`,
      );
    }
    alike = fitting;
    const kinds = [...new Set(alike.map((each) => each[what]))];
    if (stated === null && kinds.length === 1)
      because.push(
        `The ${what} of this draw was not stated. It is assumed to be ${kinds[0]}, as in the good captures.`,
      );
  }
  const nothing: DrawBaseline = {
    of: [...of],
    band: null,
    kind: null,
    boards: 0,
    captures: 0,
    withinAmps: null,
    betweenAmps: null,
    atFloor: false,
    because,
  };
  if (alike.length === 0) return nothing;
  const boards = new Set(alike.map((each) => each.board)).size;
  const found = baselineBandOf(alike);
  if (found.kind === "not-comparable") return { ...nothing, because: [...because, found.because] };
  if (found.kind === "band" && boards >= FEW_BOARDS) {
    const { low, high, captures: n, withinAmps, betweenAmps, atFloor } = found;
    because.unshift(
      `Judging by ${counted(boards, "good board")} of this kind (${counted(n, "capture")}), the next one draws ${span(low, high)} in 95 % of cases (prediction interval${atFloor ? ", widened by the error of the instruments" : ""}). Boards differ by ${sayAmps(betweenAmps)}${withinAmps === null ? "" : `, the same board from run to run by ${sayAmps(withinAmps)}`} (standard deviations).`,
    );
    return { ...nothing, band: [low, high], kind: "prediction", boards, captures: n, withinAmps, betweenAmps, atFloor };
  }
  const { mean } = univariateOf(alike.map((each) => each.amps));
  const [low, high] = [(1 - FIFTH) * mean, (1 + FIFTH) * mean];
  because.unshift(
    `Judging by only ${counted(boards, "good board")} of this kind (${counted(alike.length, "capture")}), the next one should draw ${span(low, high)}: a fifth around the mean, because so few boards say little about how boards differ.`,
  );
  return { ...nothing, band: [low, high], kind: "fifth", boards, captures: alike.length };
}

const counted = (n: number, what: string): string => `${n} ${what}${n === 1 ? "" : "s"}`;
const span = (low: number, high: number): string => `${sayAmps(low)} to ${sayAmps(high)}`;
