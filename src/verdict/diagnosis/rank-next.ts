import { grouped } from "./belief.ts";
import { secondLookAt } from "./doubtful-readings.ts";
import { costOf, expectedDropBits } from "./expected-drop.ts";
import { answerLines } from "./fault-groups.ts";
import { type Bench, type Held, isItsTurn } from "./held-back.ts";
import type { Hypothesis } from "./hypotheses.ts";

import type { Measurement } from "./measurements.ts";
import { shortOrLeakAt } from "./short-at.ts";

/**
 * A measurement under this expected drop for a minute of its cost and its turn is not proposed: two hours of such measurements would make one bit, and
 * a board that is worth no more than two hours of search gets no more (common practice, no source).
 */
const LEAST_BITS_A_MINUTE = 1 / 120;
/**
 * Each measurement is ranked as though it took so much longer, so that of looks that tell alike for their time those come first that decide.
 * Without it a wrong fault stood first in 15 % of the searches of past the rails, and with it in 10 %, in the same time (docs/diagnosis-study.md).
 */
const TURN_MINUTES = 2;
/** Injection, millivolts and lifting are for points with a candidate this likely, or that read low. */
const WORTH_HUNTING = 0.05;

export interface Ranked {
  measurement: Measurement;
  dropBits: number;
  /** Chosen because it may let the board be powered, which would tell more. */
  opensGate: boolean;
  /** A reading that is taken once more before it is believed or explained away. */
  isDoubted: boolean;
}

/** The model's parts the chooser needs. */
interface Choices {
  hypotheses: readonly Hypothesis[];
  measurements: readonly Measurement[];
  data: { riskMinutes: number };
}

/** True where the measurement may be proposed now, whatever it would tell. */
export function isOpen(
  measurement: Measurement,
  model: Choices,
  belief: readonly number[],
  bench: Bench,
  held: Held | null,
): boolean {
  if (bench.taken.has(measurement.id) || bench.isOutOfReach(measurement) || !isItsTurn(measurement, bench))
    return false;
  const { whereShort } = measurement;
  if (
    whereShort !== null &&
    shortOrLeakAt(whereShort, model.hypotheses, belief) < WORTH_HUNTING &&
    !concerns(whereShort, held) &&
    !(held?.why === "unread" && held.measurement === measurement.id)
  ) {
    return false;
  }
  return !measurement.energises || (held === null && (bench.hasPowered || measurement.slot.in === "draw"));
}

/** True where a hunt at this point may let power come back. */
const concerns = (point: string, held: Held | null): boolean =>
  (held?.why === "low" && held.hunt === point) || (held?.why === "short" && held.point === point);

/**
 * Measurements that may be proposed, the best first: second looks at the readings in doubt, then by expected drop of entropy for their
 * minutes and risk. While energising is held back and would tell more than anything open, those come first that may let it go.
 */
export function rankNext(
  model: Choices,
  belief: readonly number[],
  bench: Bench,
  held: Held | null,
  doubts: readonly string[] = [],
): Ranked[] {
  const lines = answerLines(model.hypotheses);
  const lead = Math.max(...grouped(belief, lines));
  const again = doubts.flatMap((proof): Ranked[] => {
    const isNow = (each: Measurement): boolean => isOpen(each, model, belief, bench, held);
    const measurement = secondLookAt(proof, model.measurements, isNow, lead);
    if (measurement === undefined) return [];
    return [{ measurement, dropBits: expectedDropBits(belief, measurement, lines), opensGate: false, isDoubted: true }];
  });
  const seen = new Set(again.map(({ measurement }) => measurement.id));
  return [...again, ...rankedByDrop(model, belief, bench, held).filter(({ measurement }) => !seen.has(measurement.id))];
}

function rankedByDrop(model: Choices, belief: readonly number[], bench: Bench, held: Held | null): Ranked[] {
  const { hypotheses, data } = model;
  const lines = answerLines(hypotheses);
  const scored = (measurement: Measurement, groupOf: readonly number[]): Scored => {
    const dropBits = expectedDropBits(belief, measurement, groupOf);
    const cost = costOf(measurement, data.riskMinutes);
    const score = dropBits / (cost + TURN_MINUTES);
    return { measurement, dropBits, opensGate: false, isDoubted: false, score };
  };
  const open = model.measurements.filter((each) => isOpen(each, model, belief, bench, held));
  const all = open.map((each) => scored(each, lines)).sort(byScore);
  const worthwhile = all.filter((each) => each.score >= LEAST_BITS_A_MINUTE || opens(each.measurement, held));
  if (held === null) return worthwhile;
  const best = worthwhile[0]?.score ?? 0;
  const isWorthOpening = model.measurements.some(
    (each) => each.energises && isOpen(each, model, belief, bench, null) && scored(each, lines).score > best,
  );
  if (!isWorthOpening) return worthwhile;
  const shorts = shortGroups(hypotheses);
  const opening = all
    .map((each) => ({ ...each, opensGate: true, score: scored(each.measurement, shorts).score }))
    .sort(byScore);
  // While a short is likely anywhere, the looks that say most of shorts; what says nothing of them opens nothing.
  const direct = opening.filter((each) => held.why !== "short" && opens(each.measurement, held));
  const others = opening.filter(
    (each) => !direct.includes(each) && (each.score >= LEAST_BITS_A_MINUTE || opens(each.measurement, held)),
  );
  const first = [...direct, ...others];
  const taken = new Set(first.map(({ measurement }) => measurement.id));
  return [...first, ...worthwhile.filter(({ measurement }) => !taken.has(measurement.id))];
}

type Scored = Ranked & { score: number };

/** True for what the reason for holding back names: the look that is due, or looks and hunts at the point that reads low or may be shorted. */
const opens = (measurement: Measurement, held: Held | null): boolean =>
  (held?.why === "unread" && measurement.id === held.measurement) ||
  ((held?.why === "low" || held?.why === "short") &&
    (measurement.proof === `cold ohms ${held.point}` ||
      (measurement.whereShort !== null && concerns(measurement.whereShort, held))));

const byScore = (a: Scored, b: Scored): number => b.score - a.score || a.measurement.id.localeCompare(b.measurement.id);

/** Each short by itself, everything else together. */
const shortGroups = (hypotheses: readonly Hypothesis[]): number[] => {
  let group = 0;
  return hypotheses.map((hypothesis) => (hypothesis.isShort ? ++group : 0));
};
