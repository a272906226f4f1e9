import { AGAIN, type Measurement } from "./measurements.ts";
import type { DiagnosisModel } from "./model.ts";
import { shortBetween, shortProbability, shortShownAt } from "./short-at.ts";

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
  /** A short is likelier than the gate: likeliest at this point, null where nothing can be looked at there any more. */
  | { why: "short"; short: number; point: string | null }
  /** A rail stands far above its nominal, and what hangs on it would get that again. */
  | { why: "over"; short: number; point: string }
  /** A point reads low, and neither a further look nor a hunt for the short, made at `hunt`, has cleared it. */
  | { why: "low"; short: number; point: string; hunt: string }
  /** Before the first power-up a point was not read, or not read again though a short is not out of the question. */
  | { why: "unread"; short: number; measurement: string };

/** Answers of a hunt that found no short. */
const FOUND_NOTHING = ["none", "neither"];
/** The number of hunts without a find that clear a point that goes on reading low; one where its diode volts are those of a good board. */
const HUNTS_ASKED = 2;

/**
 * Why energising is held back, or null. Between short and normal only low-voltage injection is allowed (common practice,
 * no source), whatever the probabilities say.
 */
export function heldBack(
  model: Pick<DiagnosisModel, "hypotheses" | "measurements" | "data" | "tree">,
  belief: readonly number[],
  bench: Bench,
): Held | null {
  const { hypotheses, measurements, data } = model;
  const short = shortProbability(hypotheses, belief);
  if (short > data.shortGate) return { why: "short", short, point: likeliestShort(model, belief, bench) };
  const isUp = (point: string): boolean => bench.taken.get(`volts ${point}`) === "normal";
  const over = bench.tooHigh[0];
  if (over !== undefined) return { why: "over", short, point: over };
  const low = lowPoint(model, belief, bench, isUp);
  if (low !== null) return { why: "low", short, ...low };
  if (bench.hasPowered) return null;
  const shortOf = ({ points }: Measurement): number =>
    points.length === 1 ? shortShownAt(points[0] ?? "", hypotheses, belief) : shortBetween(points, hypotheses, belief);
  const unread = measurements
    .filter((each) => looksAtShort(each) && !bench.taken.has(each.id))
    .filter((each) => !bench.isOutOfReach(each) && isItsTurn(each, bench))
    // The first look is due at every point, however well something else explains what was read; at a pair where only it shows a short.
    .filter((each) => (each.slot.in === "coldOhms" && each.points.length === 1) || shortOf(each) > data.secondLook)
    // First looks first: one at a plane says as much of its feed as a second look there, and is due anyway.
    .sort((a, b) => placeOf(a) - placeOf(b) || shortOf(b) - shortOf(a))[0];
  return unread === undefined ? null : { why: "unread", short, measurement: unread.id };
}

/** Ohms of any kind, and diode volts once the leads were reversed: it takes a quarter of the time of four wires. */
const looksAtShort = ({ slot, proof }: Measurement): boolean => slot.in.startsWith("coldOhms") || proof === "diode";

/** First looks, then reversed leads, then diode volts, then four wires. */
function placeOf({ slot, proof }: Measurement): number {
  if (proof === "diode") return 2;
  return slot.in === "coldOhms" ? 0 : slot.in === "coldOhmsReversed" ? 1 : 3;
}

/**
 * Reversed leads are a second look at a reading, four wires a third. A check that follows from another waits for its answer; the later one
 * of two holds.
 */
export function isItsTurn({ slot, proof, measure, after }: Measurement, { taken }: Pick<Bench, "taken">): boolean {
  for (const [check, answers] of after) {
    const answer = taken.get(`${check}${AGAIN}`) ?? taken.get(check);
    if (answer === undefined || !answers.includes(answer)) return false;
  }
  // The second look at volts, a signal or a check.
  if (measure.endsWith(AGAIN)) return taken.has(measure.slice(0, -AGAIN.length));
  if (slot.in === "coldOhmsReversed") return taken.has(proof);
  if (proof === "diode") return taken.has(`cold ohms ${slot.point?.split(" ")[1]}, leads reversed`);
  return slot.in !== "coldOhmsFourWire" || taken.has(`${proof}, leads reversed`);
}

/** Of the points where something can still be looked at without power, the one where a short is likeliest. */
function likeliestShort(
  { hypotheses, measurements }: Pick<DiagnosisModel, "hypotheses" | "measurements">,
  belief: readonly number[],
  bench: Bench,
): string | null {
  const points = measurements
    .filter(({ id, energises, whereShort }) => !energises && whereShort !== null && !bench.taken.has(id))
    .filter((each) => !bench.isOutOfReach(each))
    .map(({ whereShort }) => whereShort ?? "");
  const shortOf = (point: string): number => shortShownAt(point, hypotheses, belief);
  return points.sort((a, b) => shortOf(b) - shortOf(a))[0] ?? null;
}

/**
 * A point or pair that more looks found short or low than not, and that did not read its nominal volts under power since. A feed and its
 * plane are one node while the fuse between them is whole: a look that finds one of them normal speaks for the other.
 */
function lowPoint(
  { hypotheses, measurements, tree, data }: Pick<DiagnosisModel, "hypotheses" | "measurements" | "tree" | "data">,
  belief: readonly number[],
  { taken, isOutOfReach }: Bench,
  isUp: (point: string) => boolean,
): { point: string; hunt: string } | null {
  const looks = new Map<string, { low: number; normal: number; high: number }>();
  for (const { id, slot } of measurements) {
    const outcome = taken.get(id);
    if (outcome === undefined || slot.point === null || !slot.in.startsWith("coldOhms")) continue;
    const count = looks.get(slot.point) ?? { low: 0, normal: 0, high: 0 };
    count[outcome === "normal" || outcome === "high" ? outcome : "low"]++;
    looks.set(slot.point, count);
  }
  for (const [point, { low, normal, high }] of looks) {
    const feed = tree.feedOfPlane(point);
    const across = looks.get(feed ?? tree.planeOf(point) ?? "");
    const isJoined = across !== undefined && taken.get(`fuse ${feed ?? point}`) !== "open";
    const lows = low + (isJoined ? across.low : 0);
    if (low === 0 || lows <= normal + high + (isJoined ? across.normal : 0) || point.split(":").some(isUp)) continue;
    // A pair is cleared where its rail is, a plane where its feed is: there current goes in.
    const end = point.split(":").at(-1) ?? point;
    const hunt = tree.feedOfPlane(end) ?? end;
    const hunts = ["gradient", "inject", "lift"].map((check) => taken.get(`${check} ${hunt}`));
    const asked = HUNTS_ASKED - Number(taken.get(`diode ${hunt}`) === "as-good");
    const isHunted = hunts.filter((answer) => answer !== undefined && FOUND_NOTHING.includes(answer)).length >= asked;
    const isLeft = (each: Measurement): boolean =>
      each.whereShort === hunt && !each.energises && !taken.has(each.id) && !isOutOfReach(each);
    const isLikely = shortShownAt(hunt, hypotheses, belief) > data.lowGate && measurements.some(isLeft);
    if (!isHunted || isLikely) return { point, hunt };
  }
  return null;
}
