import type { DrawBaseline } from "../../shared/draw-baseline.ts";
import { sayAmps } from "../../shared/words/amounts.ts";
import { counted } from "../../shared/words/counted.ts";
import { type BaselineCapture, baselineBandOf } from "./baseline-band.ts";
import { type BoardsElsewhere, priorBandOf } from "./prior-band.ts";
import { univariateOf } from "./univariate.ts";

/** The conditions of a draw; null: not stated. */
export interface DrawSurroundings {
  supply: string | null;
  leads: string | null;
  fans: string | null;
  host: string | null;
}

/** So few boards that a prediction interval would hold almost anything: a fifth about their mean then (common practice, no source). */
const FEW_BOARDS = 3;
const FIFTH = 0.2;

/** The readings of good boards at another shop, under which conditions. */
export interface DrawElsewhere extends BoardsElsewhere {
  shop: string;
  fans: string;
  host: string;
}

/** Another supply and other leads than one's own move a board's draw by about this share (common practice, no source). */
const OTHER_SET_SHARE = 0.01;

const WHAT = ["supply", "leads", "fans", "host"] as const;

/**
 * The band of good boards for a draw under these surroundings: the prediction interval from three boards on, a fifth about the mean
 * from fewer. Captures from another supply, other leads, fans or host are not comparable: left out, and said. What the draw itself
 * does not state is taken to be as in the captures, where those agree, and said too. What other shops read of the kind (`elsewhere`, of
 * the same feeds) is weighed in as `priorBandOf` does.
 */
export function drawBaselineOf(
  captures: readonly BaselineCapture[],
  own: DrawSurroundings,
  of: readonly string[],
  elsewhere: readonly DrawElsewhere[] = [],
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
        `${counted(left, "good capture")} cannot be compared: ${what} ${others.join(" or ")} then, ${stated ?? "not stated"} now.`,
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
  const withOthers = bandWithOthers(alike, own, elsewhere, because);
  if (withOthers !== null) return { ...nothing, ...withOthers };
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

/**
 * The band with what other shops read, and its sentence in front of the others; null where they read nothing that can be compared, or
 * all boards together are too few. Fans and host must be alike; another supply and other leads make it wider.
 */
function bandWithOthers(
  captures: readonly BaselineCapture[],
  own: DrawSurroundings,
  elsewhere: readonly DrawElsewhere[],
  because: string[],
): Partial<DrawBaseline> | null {
  const alike = elsewhere.filter(
    (each) => (own.fans === null || each.fans === own.fans) && (own.host === null || each.host === own.host),
  );
  const left = elsewhere.length - alike.length;
  if (left > 0)
    because.push(
      `Figures of other shops were left out ${left} times, because their fans or host differed from the present ones.`,
    );
  if (alike.length === 0) return null;
  const means = new Map<string, number[]>();
  for (const { board, amps } of captures) means.set(board, [...(means.get(board) ?? []), amps]);
  const boards = alike.map((each) => ({
    ...each,
    standardU: Math.hypot(each.standardU, OTHER_SET_SHARE * each.meanAmps),
  }));
  const band = priorBandOf(
    [...means.values()].map((amps) => univariateOf(amps).mean),
    boards,
  );
  if (band === null) {
    because.push("Other shops measured too few good boards of this kind to say what the next one draws.");
    return null;
  }
  const floor = 2 * Math.SQRT2 * Math.max(...[...captures, ...alike].map((each) => each.standardU));
  const middle = (band.low + band.high) / 2;
  const half = Math.max(floor, (band.high - band.low) / 2);
  const [low, high] = [middle - half, middle + half];
  const others = alike.reduce((sum, each) => sum + each.boards, 0);
  const shops = [...new Set(alike.map(({ shop }) => shop))].sort();
  because.unshift(
    `Judging by ${counted(means.size, "good board")} of this kind here and ${others} of ${shops.join(", ")}, which count for ${(band.weight - means.size).toFixed(1)}, the next one draws ${span(low, high)} in 95 % of cases (prediction interval with the other shops as prior).`,
  );
  return {
    ...{ band: [low, high], kind: "with-other-shops", boards: means.size, captures: captures.length },
    ...{ elsewhere: others, atFloor: half === floor },
  };
}

const span = (low: number, high: number): string => `${sayAmps(low)} to ${sayAmps(high)}`;
