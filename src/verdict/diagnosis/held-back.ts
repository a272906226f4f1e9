import type { FaultData } from "../../../shared/fault-data.ts";
import type { Hypothesis } from "./hypotheses.ts";
import { AGAIN, type Measurement } from "./measurements.ts";
import { shortProbability, shortShownAt } from "./short-at.ts";

/** The state of the bench when the next measurement is chosen. */
export interface Bench {
  /** Measurements that have been taken, to the outcome their reading came nearest to. */
  taken: ReadonlyMap<string, string>;
  isOutOfReach: (measurement: Measurement) => boolean;
  /** Rails that stood so far above their nominal that no power may come back before the cause is found. */
  tooHigh: readonly string[];
  /** The board was powered before: its rails may be measured while it is. */
  hasPowered: boolean;
}

/** Why nothing that energises is proposed. */
export type Held =
  /** A short is likelier than the gate. */
  | { why: "short"; short: number }
  /** A rail stands far above its nominal, and what hangs on it would get that again. */
  | { why: "over"; short: number; point: string }
  /** A point reads low, and neither a further look nor a hunt for the short has cleared it. */
  | { why: "low"; short: number; point: string }
  /** Before the first power-up a point was not read, or not read again though a short is not out of the question. */
  | { why: "unread"; short: number; measurement: string };

/** Answers of a hunt that found no short. */
const FOUND_NOTHING = ["none", "neither"];
/** The number of hunts without a find that clear a point that goes on reading low. */
const HUNTS_ASKED = 2;

/**
 * Why energising is held back, or null. Between short and normal only low-voltage injection is allowed (common practice,
 * no source), whatever the probabilities say.
 */
export function heldBack(
  model: { hypotheses: readonly Hypothesis[]; measurements: readonly Measurement[]; data: FaultData },
  belief: readonly number[],
  bench: Bench,
): Held | null {
  const { hypotheses, measurements, data } = model;
  const short = shortProbability(hypotheses, belief);
  if (short > data.shortGate) return { why: "short", short };
  const isUp = (point: string): boolean => bench.taken.get(`volts ${point}`) === "normal";
  const over = bench.tooHigh[0];
  if (over !== undefined) return { why: "over", short, point: over };
  const low = lowPoint(measurements, bench, isUp);
  if (low !== null) return { why: "low", short, point: low };
  if (bench.hasPowered) return null;
  const shortOf = ({ points }: Measurement): number => shortShownAt(points[0] ?? "", hypotheses, belief);
  const unread = measurements
    .filter((each) => each.slot.in.startsWith("coldOhms") && each.points.length === 1 && !bench.taken.has(each.id))
    .filter((each) => !bench.isOutOfReach(each) && isItsTurn(each, bench))
    // The first look is due at every point, however well something else explains what was read.
    .filter((each) => each.slot.in === "coldOhms" || shortOf(each) > data.secondLook)
    .sort((a, b) => shortOf(b) - shortOf(a))[0];
  return unread === undefined ? null : { why: "unread", short, measurement: unread.id };
}

/** Reversed leads are a second look at a reading, four wires a third. */
export function isItsTurn({ slot, proof, measure }: Measurement, { taken }: Pick<Bench, "taken">): boolean {
  // The second look at volts, a signal or a check.
  if (measure.endsWith(AGAIN)) return taken.has(measure.slice(0, -AGAIN.length));
  if (slot.in === "coldOhmsReversed") return taken.has(proof);
  return slot.in !== "coldOhmsFourWire" || taken.has(`${proof}, leads reversed`);
}

/** A point or pair that more looks found short or low than not, and that did not read its nominal volts under power since. */
function lowPoint(
  measurements: readonly Measurement[],
  { taken }: Bench,
  isUp: (point: string) => boolean,
): string | null {
  const looks = new Map<string, { low: number; other: number }>();
  for (const { id, slot } of measurements) {
    const outcome = taken.get(id);
    if (outcome === undefined || slot.point === null || !slot.in.startsWith("coldOhms")) continue;
    const count = looks.get(slot.point) ?? { low: 0, other: 0 };
    if (outcome === "short" || outcome === "low") count.low++;
    else count.other++;
    looks.set(slot.point, count);
  }
  for (const [point, { low, other }] of looks) {
    if (low <= other || point.split(":").some(isUp)) continue;
    // A pair is cleared where its rail is.
    const at = point.split(":").at(-1) ?? point;
    const hunts = ["gradient", "inject", "lift"].map((check) => taken.get(`${check} ${at}`));
    if (hunts.filter((answer) => answer !== undefined && FOUND_NOTHING.includes(answer)).length < HUNTS_ASKED)
      return point;
  }
  return null;
}
