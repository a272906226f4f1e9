import { secondLookAt } from "./doubtful-readings.ts";
import { costOf, expectedDropBits } from "./expected-drop.ts";
import { answerLines } from "./fault-groups.ts";
import { type Bench, type Held, isItsTurn } from "./held-back.ts";
import type { Hypothesis } from "./hypotheses.ts";
import type { Measurement } from "./measurements.ts";
import { shortOrLeakAt } from "./short-at.ts";

/**
 * A measurement under this expected drop is not worth taking, bits: 330 of them would make one bit, and halving what is left in doubt by
 * a working day of measurements is worth nobody's time (arithmetic; that nobody's is, common practice, no source).
 */
const LEAST_BITS = 0.003;
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
    !concerns(whereShort, held)
  ) {
    return false;
  }
  return !measurement.energises || (held === null && (bench.hasPowered || measurement.slot.in === "draw"));
}

const concerns = (point: string, held: Held | null): boolean =>
  held?.why === "low" && (held.point.split(":").at(-1) ?? held.point) === point;

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
  const again = doubts.flatMap((proof): Ranked[] => {
    const measurement = secondLookAt(proof, model.measurements, (each) => isOpen(each, model, belief, bench, held));
    if (measurement === undefined) return [];
    return [{ measurement, dropBits: expectedDropBits(belief, measurement, lines), opensGate: false, isDoubted: true }];
  });
  const seen = new Set(again.map(({ measurement }) => measurement.id));
  return [...again, ...rankedByDrop(model, belief, bench, held).filter(({ measurement }) => !seen.has(measurement.id))];
}

function rankedByDrop(model: Choices, belief: readonly number[], bench: Bench, held: Held | null): Ranked[] {
  const { riskMinutes } = model.data;
  const ranked: (Ranked & { score: number })[] = [];
  const scored = (measurement: Measurement, groupOf?: readonly number[]): number =>
    expectedDropBits(belief, measurement, groupOf) / costOf(measurement, riskMinutes);
  const lines = answerLines(model.hypotheses);
  for (const measurement of model.measurements) {
    if (!isOpen(measurement, model, belief, bench, held)) continue;
    const dropBits = expectedDropBits(belief, measurement, lines);
    if (dropBits < LEAST_BITS && !opens(measurement, held)) continue;
    ranked.push({
      measurement,
      dropBits,
      opensGate: false,
      isDoubted: false,
      score: dropBits / costOf(measurement, riskMinutes),
    });
  }
  ranked.sort(byScore);
  if (held === null) return ranked;
  const best = ranked[0]?.score ?? 0;
  const isWorthOpening = model.measurements.some(
    (each) => each.energises && isOpen(each, model, belief, bench, null) && scored(each, lines) > best,
  );
  if (!isWorthOpening) return ranked;
  const groupOf = shortGroups(model.hypotheses);
  const opening = ranked.map((each) => ({ ...each, opensGate: true, score: scored(each.measurement, groupOf) }));
  const direct = opening.filter((each) => opens(each.measurement, held));
  return [...direct.sort(byScore), ...opening.filter((each) => !direct.includes(each)).sort(byScore)];
}

/** True for what the reason for holding back names: the look that is due, or the hunt at the point that reads low. */
const opens = (measurement: Measurement, held: Held | null): boolean =>
  (held?.why === "unread" && measurement.id === held.measurement) ||
  (held?.why === "low" &&
    (measurement.proof === `cold ohms ${held.point}` ||
      (measurement.whereShort !== null && concerns(measurement.whereShort, held))));

const byScore = (a: Ranked & { score: number }, b: Ranked & { score: number }): number =>
  b.score - a.score || a.measurement.id.localeCompare(b.measurement.id);

/** Each short by itself, everything else together. */
const shortGroups = (hypotheses: readonly Hypothesis[]): number[] => {
  let group = 0;
  return hypotheses.map((hypothesis) => (hypothesis.isShort ? ++group : 0));
};
