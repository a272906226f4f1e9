import { type Random, seededRandom, seedOf } from "../../src/simulator/random.ts";
import { coldLimitsOf } from "../../src/verdict/diagnosis/cold-limits.ts";
import { type Hypothesis, hypothesesOf } from "../../src/verdict/diagnosis/hypotheses.ts";
import { AGAIN, type Measurement } from "../../src/verdict/diagnosis/measurements.ts";
import { type DiagnosisModel, withHypotheses } from "../../src/verdict/diagnosis/model.ts";
import { placeFaults } from "../../src/verdict/diagnosis/place-faults.ts";
import { shopWeights } from "../../src/verdict/diagnosis/priors.ts";
import { coldState, voltsLimits, voltsState } from "../../src/verdict/diagnosis/reading-state.ts";
import { drawnData } from "./drawn-data.ts";

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
 * What is true of one board with one fault: the measurements as that fault shows in them, with the likelihoods drawn anew about those of
 * the fault data (`drawnData`). Rows of their chances are those of `TRUE_ROW` alone.
 */
export function ownMeasurements(
  hypothesis: number,
  model: DiagnosisModel,
  weight: number,
  seed: number,
): readonly Measurement[] {
  const { tree, roles, traits } = model;
  const data = drawnData(model.data, weight, seed);
  const placed = placeFaults(tree, roles, data, { traits, passedOn: new Set() });
  const all = hypothesesOf(placed, shopWeights(placed, data, null), data);
  const truly = all[hypothesis];
  if (truly === undefined) return [];
  // Enough others that every check is asked which is asked of the board.
  const asked = new Set<string>();
  const others = all.filter(({ faults }) => {
    const checks = faults.flatMap(({ row }) => Object.keys(row.checks)).filter((check) => !asked.has(check));
    for (const check of checks) asked.add(check);
    return checks.length > 0;
  });
  return withHypotheses({ tree, roles, traits, data }, [truly, ...others]).measurements;
}

const TRUE_ROW = 0;

/**
 * A board with this fault, on which `own` is true. Each state is drawn once; a slip comes with each reading anew. Ohms and volts
 * become numbers with noise and go through the same limits as a person's readings. A short reads as a short or low at its own points: the
 * rest of its word is caution, not nature. `seed` and what is measured decide every draw, so that the board is the same in whatever order
 * it is measured.
 */
export function makeTruth(hypothesis: number, model: DiagnosisModel, own: readonly Measurement[], seed: number): Truth {
  const states = new Map<string, number>();
  const passed = new Set<string>();
  const times = new Map<string, number>();
  const { slip } = model.data;
  const chances = new Map(own.map((each) => [each.id, chancesOf(each, TRUE_ROW, slip)]));
  const chips = new Map(own.map((each) => [each.id, each.chip]));
  /** Whether the chip of this board runs is drawn once, for all that look at it. */
  const isRunning = (share: number): boolean => seededRandom(seedOf(seed, "chip-running")).next() < share;
  /** Shares of the answers of a check on this board; of a look at the chip, those of one that runs or does not. */
  const shownOf = (id: string): readonly number[] | undefined => {
    const chip = chips.get(id);
    if (chip === undefined || chip === null || chip.own[TRUE_ROW] !== null) return chances.get(id);
    return withoutSlips(isRunning(chip.runs[TRUE_ROW] ?? 0) ? chip.running : chip.waiting, slip);
  };
  const stateOf = (measurement: Measurement, random: Random): number => {
    const key = measurement.slot.in === "checks" ? firstId(measurement) : measurement.proof;
    const known = states.get(key);
    if (known !== undefined) return known;
    const draws = passed.has(key) ? random : seededRandom(seedOf(seed, key));
    const word = chancesOf(measurement, hypothesis, slip);
    const chance = shownOf(measurement.id) ?? word;
    const isCold = measurement.slot.in.startsWith("cold");
    const isOwnShort = isCold && (word[0] ?? 0) + (word[1] ?? 0) > 0.9;
    const state = pick(isOwnShort ? chance.map((share, at) => (at < 2 ? share : 0)) : chance, draws);
    // An odd reading of a healthy point is as often the reading's as the board's: contact, charge, the meter's range.
    const isOdd = isCold && state !== 2 && (word[2] ?? 0) > 0.8;
    // A healthy point does not go on reading short; what has passed is drawn anew with the next reading.
    if (!isOdd || (state !== 0 && draws.next() < 0.5)) states.set(key, state);
    else passed.add(key);
    return state;
  };
  return {
    hypothesis,
    answer(measurement) {
      const { id, look, outcomes } = measurement;
      const time = (times.get(id) ?? 0) + 1;
      times.set(id, time);
      const random = seededRandom(seedOf(seed, `${id} ${time}`));
      const isSlip = random.next() < slip;
      const shows = look?.kind.slipShows ?? outcomes.map(() => 1);
      const state = isSlip ? pick(shows, random) : stateOf(measurement, random);
      return read(measurement, state, model, random) ?? outcomes.map((_, at) => (at === state ? 1 : 0));
    },
  };
}

/** Chance of each state of what is measured, without slips. */
const chancesOf = ({ look, chance }: Measurement, hypothesis: number, slip: number): readonly number[] =>
  look?.states[hypothesis] ?? withoutSlips(chance[hypothesis] ?? [], slip);

const withoutSlips = (chance: readonly number[], slip: number): number[] =>
  chance.map((share) => Math.max(0, (share - slip / chance.length) / (1 - slip)));

/** A check that is made again looks at the same thing as the first time. */
const firstId = ({ id }: Measurement): string => (id.endsWith(AGAIN) ? id.slice(0, -AGAIN.length) : id);

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

function pick(shares: readonly number[], random: Random): number {
  let left = random.next() * shares.reduce((sum, each) => sum + each, 0);
  for (const [index, share] of shares.entries()) {
    left -= share;
    if (left < 0) return index;
  }
  return shares.length - 1;
}
