import type { FaultData } from "../../../shared/fault-data.ts";
import { costOf, expectedDropBits } from "./expected-drop.ts";
import type { Hypothesis } from "./hypotheses.ts";
import type { Measurement } from "./measurements.ts";

/** A measurement under this expected drop is not worth naming, bits. */
const LEAST_BITS = 0.0001;
/** Injection and lifting are for points with a candidate this likely. */
const SHORT_WORTH_HUNTING = 0.05;

export interface Ranked {
  measurement: Measurement;
  dropBits: number;
  /** Chosen because it may let the board be powered, which would tell more. */
  opensGate: boolean;
}

/** What is known of the bench when the next measurement is chosen. */
export interface Bench {
  /** Measurements that have been taken. */
  taken: ReadonlySet<string>;
  isOutOfReach: (measurement: Measurement) => boolean;
  /** The board was powered before: its rails may be measured while it is. */
  hasPowered: boolean;
  /** Energising is held back. */
  isHeld: boolean;
}

/** True where the measurement may be proposed now, whatever it would tell. */
export function isOpen(measurement: Measurement, bench: Bench): boolean {
  if (bench.taken.has(measurement.id) || bench.isOutOfReach(measurement)) return false;
  if (!isItsTurn(measurement, bench)) return false;
  if (!measurement.energises) return true;
  return !bench.isHeld && (bench.hasPowered || measurement.slot.in === "draw");
}

/** Reversed leads are a second look at a reading, four wires a third. */
function isItsTurn({ slot, proof }: Measurement, { taken }: Pick<Bench, "taken">): boolean {
  if (slot.in === "coldOhmsReversed") return taken.has(proof);
  return slot.in !== "coldOhmsFourWire" || taken.has(`${proof}, leads reversed`);
}

/**
 * Measurements that may be proposed, the best first: by expected drop of entropy for their minutes and risk. While
 * energising is held back and would tell more than anything open, by the drop of what is not known about shorts.
 */
export function rankNext(
  hypotheses: readonly Hypothesis[],
  belief: readonly number[],
  measurements: readonly Measurement[],
  bench: Bench,
  riskMinutes: number,
): Ranked[] {
  const ranked: (Ranked & { score: number })[] = [];
  for (const measurement of measurements) {
    if (!isOpen(measurement, bench)) continue;
    const { whereShort } = measurement;
    if (whereShort !== null && shortAt(whereShort, hypotheses, belief) < SHORT_WORTH_HUNTING) continue;
    const dropBits = expectedDropBits(belief, measurement);
    if (dropBits < LEAST_BITS) continue;
    ranked.push({ measurement, dropBits, opensGate: false, score: dropBits / costOf(measurement, riskMinutes) });
  }
  ranked.sort(byScore);
  const best = ranked[0]?.score ?? 0;
  if (!bench.isHeld || bestHeld(belief, measurements, bench, riskMinutes) <= best) return ranked;
  const groupOf = shortGroups(hypotheses);
  const opening = ranked
    .map((each) => ({
      ...each,
      opensGate: true,
      score: expectedDropBits(belief, each.measurement, groupOf) / costOf(each.measurement, riskMinutes),
    }))
    .filter((each) => each.score > 0)
    .sort(byScore);
  return opening.length > 0 ? opening : ranked;
}

const byScore = (a: Ranked & { score: number }, b: Ranked & { score: number }): number =>
  b.score - a.score || a.measurement.id.localeCompare(b.measurement.id);

/** The best score among what is held back. */
function bestHeld(
  belief: readonly number[],
  measurements: readonly Measurement[],
  bench: Bench,
  riskMinutes: number,
): number {
  const free = { ...bench, isHeld: false };
  return measurements
    .filter((each) => each.energises && isOpen(each, free))
    .reduce((best, each) => Math.max(best, expectedDropBits(belief, each) / costOf(each, riskMinutes)), 0);
}

/** Each short by itself, everything else together. */
const shortGroups = (hypotheses: readonly Hypothesis[]): number[] =>
  hypotheses.map((hypothesis, index) => (hypothesis.isShort ? index + 1 : 0));

/** Belief in a short or leak at a point, or through it from its feed. */
function shortAt(point: string, hypotheses: readonly Hypothesis[], belief: readonly number[]): number {
  return hypotheses.reduce((sum, hypothesis, index) => {
    const isThere = hypothesis.faults.some(
      (fault) =>
        (fault.row.short || fault.kind === "leaky") &&
        (fault.point === point || (fault.feed === point && fault.row.cold["in"] !== undefined)),
    );
    return isThere ? sum + (belief[index] ?? 0) : sum;
  }, 0);
}

/**
 * Why energising is held back, or null. Either a short is likelier than the gate; or the board was never powered and a
 * point where a short is not yet out of the question can still be read, or read again with the leads reversed.
 */
export function heldBecause(
  hypotheses: readonly Hypothesis[],
  belief: readonly number[],
  measurements: readonly Measurement[],
  bench: Omit<Bench, "isHeld">,
  data: Pick<FaultData, "shortGate" | "secondLook">,
): { short: number; unread: string | null } | null {
  const short = shortProbability(hypotheses, belief);
  if (short > data.shortGate) return { short, unread: null };
  if (bench.hasPowered) return null;
  const cold = { ...bench, isHeld: true };
  const unread = measurements.find(
    (each) =>
      each.slot.in.startsWith("coldOhms") &&
      each.points.length === 1 &&
      isOpen(each, cold) &&
      shortAt(each.points[0] ?? "", hypotheses, belief) > data.secondLook,
  );
  return unread === undefined ? null : { short, unread: unread.id };
}

/** Belief that power would reach a short of any kind. */
export const shortProbability = (hypotheses: readonly Hypothesis[], belief: readonly number[]): number =>
  Math.min(
    1,
    hypotheses.reduce((sum, hypothesis, index) => sum + (hypothesis.isShort ? (belief[index] ?? 0) : 0), 0),
  );
