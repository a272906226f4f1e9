import type { Random } from "../../src/simulator/random.ts";
import { coldLimitsOf } from "../../src/verdict/diagnosis/cold-limits.ts";
import type { Hypothesis } from "../../src/verdict/diagnosis/hypotheses.ts";
import type { Measurement } from "../../src/verdict/diagnosis/measurements.ts";
import type { DiagnosisModel } from "../../src/verdict/diagnosis/model.ts";
import { coldState, voltsLimits, voltsState } from "../../src/verdict/diagnosis/reading-state.ts";

/** How far the true chances of this one board may be from the fault data: Dirichlet weights of this sum. */
const CONCENTRATION = 30;

/** A board with one known fault, that answers measurements the way such boards do: noise, slips, and its own character. */
export interface Truth {
  hypothesis: number;
  /** Shares of the outcomes that a measurement came to, to be held against its chances. */
  answer(measurement: Measurement): number[];
}

/** Draws which hypothesis is true, by the priors. */
export function drawTruth(hypotheses: readonly Hypothesis[], random: Random): number {
  let left = random.next();
  for (const [index, hypothesis] of hypotheses.entries()) {
    left -= hypothesis.prior;
    if (left < 0) return index;
  }
  return hypotheses.length - 1;
}

/**
 * A board with this fault. Its true states are drawn once, from chances that are themselves drawn about the fault data's;
 * a slip comes with each reading anew. Ohms and volts become numbers with noise and go through the same limits as a
 * person's readings. `weight` is how near this board's chances are to the data's: the smaller, the further off. A short reads as a short or low at its own points: the rest of its word is caution, not nature.
 */
export function makeTruth(
  hypothesis: number,
  model: DiagnosisModel,
  random: Random,
  weight: number = CONCENTRATION,
): Truth {
  const states = new Map<string, number>();
  const { slip } = model.data;
  const stateOf = (measurement: Measurement): number => {
    const key = measurement.slot.in === "checks" ? measurement.id : measurement.proof;
    const known = states.get(key);
    if (known !== undefined) return known;
    const chance =
      measurement.look?.states[hypothesis] ??
      (measurement.chance[hypothesis] ?? []).map((share) =>
        Math.max(0, (share - slip / measurement.outcomes.length) / (1 - slip)),
      );
    const isCold = measurement.slot.in.startsWith("cold");
    const isOwnShort = isCold && (chance[0] ?? 0) + (chance[1] ?? 0) > 0.9;
    const state = pick(
      spread(isOwnShort ? chance.map((share, at) => (at < 2 ? share : 0)) : chance, weight, random),
      random,
    );
    // An odd reading of a healthy point is as often the reading's as the board's: contact, charge, the meter's range.
    const isOdd = isCold && state !== 2 && (chance[2] ?? 0) > 0.8;
    // A healthy point does not go on reading short.
    if (!isOdd || (state !== 0 && random.next() < 0.5)) states.set(key, state);
    return state;
  };
  return {
    hypothesis,
    answer(measurement) {
      const isSlip = random.next() < slip;
      const shows = measurement.look?.kind.slipShows ?? measurement.outcomes.map(() => 1);
      const state = isSlip ? pick(shows, random) : stateOf(measurement);
      return read(measurement, state, model, random) ?? measurement.outcomes.map((_, at) => (at === state ? 1 : 0));
    },
  };
}

/** The state as a number with noise, sorted into states again; null where the answer is a word. */
function read(measurement: Measurement, state: number, model: DiagnosisModel, random: Random): number[] | null {
  const { slot } = measurement;
  if (slot.point === null) return null;
  if (slot.in.startsWith("coldOhms")) {
    const limits = coldLimitsOf(slot.point, model.tree, model.roles, model.data);
    if (limits === null) return null;
    const high = Number.isFinite(limits.high) ? limits.high : limits.low * 100;
    const spans = [
      [limits.shortBelow * 0.1, limits.shortBelow * 0.7],
      [limits.shortBelow * 1.5, limits.low * 0.8],
      [limits.low * 1.3, high * 0.7],
      [high * 1.5, high * 100],
    ] as const;
    const [from, to] = spans[state] ?? spans[2];
    const ohms = from * (Math.max(to, from) / from) ** random.next();
    const isFourWire = slot.in === "coldOhmsFourWire";
    const contact = isFourWire ? 0 : Math.min(0.02, limits.low / 8) * random.normal();
    const share = isFourWire ? 0.02 : 0.05;
    return coldState(Math.max(0, ohms * (1 + share * random.normal()) + contact), limits, isFourWire);
  }
  const rail = model.tree.board.rails[slot.point];
  if ((slot.in !== "volts" && slot.in !== "signals" && slot.in !== "again") || rail === undefined || rail.volts <= 0)
    return null;
  const limits = voltsLimits(rail);
  const spans = [
    [0, limits.absent * 0.7],
    [limits.absent * 1.5, limits.low * 0.97],
    [limits.low + (rail.volts - limits.low) * 0.3, limits.high - (limits.high - rail.volts) * 0.3],
    [limits.high * 1.03, limits.high * 1.3],
  ] as const;
  const [from, to] = spans[state] ?? spans[2];
  const volts = from + (to - from) * random.next();
  return voltsState(volts * (1 + 0.003 * random.normal()) + 0.002 * random.normal(), rail);
}

/** Shares drawn about given shares: gamma variates of the shares times the weight, scaled. */
function spread(shares: readonly number[], weight: number, random: Random): number[] {
  const drawn = shares.map((share) => (share <= 0 ? 0 : gamma(share * weight, random)));
  const total = drawn.reduce((sum, each) => sum + each, 0);
  return total > 0 ? drawn.map((each) => each / total) : [...shares];
}

/** Gamma variate by Marsaglia and Tsang (from memory); shapes under 1 by the boost with a uniform. */
function gamma(shape: number, random: Random): number {
  if (shape < 1) return gamma(shape + 1, random) * random.next() ** (1 / shape);
  const d = shape - 1 / 3;
  const c = 1 / Math.sqrt(9 * d);
  for (;;) {
    const x = random.normal();
    const v = (1 + c * x) ** 3;
    if (v > 0 && Math.log(1 - random.next()) < 0.5 * x * x + d - d * v + d * Math.log(v)) return d * v;
  }
}

function pick(shares: readonly number[], random: Random): number {
  let left = random.next() * shares.reduce((sum, each) => sum + each, 0);
  for (const [index, share] of shares.entries()) {
    left -= share;
    if (left < 0) return index;
  }
  return shares.length - 1;
}
