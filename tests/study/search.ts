import type { Random } from "../../src/simulator/random.ts";
import { grouped, updated } from "../../src/verdict/diagnosis/belief.ts";
import { afterChipLook } from "../../src/verdict/diagnosis/chip-running.ts";
import { doubtfulReadings, type Weighed } from "../../src/verdict/diagnosis/doubtful-readings.ts";
import { answerLines, faultGroups } from "../../src/verdict/diagnosis/fault-groups.ts";
import { type Bench, heldBack } from "../../src/verdict/diagnosis/held-back.ts";
import { AGAIN, afterLooks, type Measurement } from "../../src/verdict/diagnosis/measurements.ts";
import type { DiagnosisModel } from "../../src/verdict/diagnosis/model.ts";
import { isOpen, rankNext } from "../../src/verdict/diagnosis/rank-next.ts";
import { weigh, wordOf } from "../../src/verdict/diagnosis/weigh.ts";
import type { Truth } from "./truth.ts";

export type Strategy = "chosen" | "checklist" | "random";

/** How one search for one fault went. */
export interface Search {
  /** The true element and kind came first with at least this confidence. */
  reached: boolean;
  /** And within them the true cause came first. */
  isCauseFirst: boolean;
  measurements: number;
  minutes: number;
  risk: number;
  /** A wrong fault stood first with that confidence before. */
  misled: boolean;
  /** The board was energised although a short was on it. */
  energisedShort: boolean;
  /** The first time any fault stood first with that confidence: what it was given, and whether it was the true one; null never. */
  said: { share: number; right: boolean } | null;
}

/** One step of a search, for whoever wants to see why it went as it did. */
export interface Step {
  measure: string;
  answer: string;
  minutes: number;
  isDoubted: boolean;
  /** Belief in each line of the answer after it. */
  lines: readonly number[];
}

export const CONFIDENCE = 0.8;
/** A search ends after so many minutes at the latest. */
export const MOST_MINUTES = 120;

/** The order of the checklist: what a careful technician works through from the top, whatever came before. */
const ORDER = [
  "visual",
  "cold",
  "pair",
  "fuse",
  "shunt",
  "sense-pin",
  "fan-pin",
  "unplug-fans",
  "probe",
  "reversed",
  "four-wire",
  "diode",
  "inject",
  "gradient",
  "lift",
  "draw",
  "fans-run",
  "volts",
  "signals",
  "again",
  "enable",
  "inductor",
  "feedback",
  "reset-level",
  "host-look",
  "firmware-switch",
  "clock-pair",
  "clock-scope",
  "ref-clock-volts",
  "start-trace",
  "lanes",
  "lane-side",
  "firmware-volts",
  "firmware-select",
  "second-host",
  "chip-warmth",
  "core-amps",
  "straps",
  "strap-trial",
  "idle-heat",
  "scope",
  "firmware-read",
  "press-and-warm",
  "boots",
  "memory-test",
  "clean",
  "load-test",
  "phase-balance",
  "ripple",
];

function placeInOrder({ slot, id }: Measurement): number {
  const kind =
    slot.in === "coldOhms"
      ? slot.point?.includes(":") === true
        ? "pair"
        : "cold"
      : slot.in === "coldOhmsFourWire"
        ? "four-wire"
        : slot.in === "coldOhmsReversed"
          ? "reversed"
          : id.startsWith("1 V probe")
            ? "probe"
            : slot.in === "checks"
              ? (id.split(/[ ,]/)[0] ?? id)
              : slot.in;
  const place = ORDER.indexOf(kind);
  if (place === -1) throw new Error(`The checklist has no place for ${id}.`);
  return place;
}

/** Searches one fault from an empty sheet; every strategy reads, believes and holds power back by the same rules. */
export function search(
  truth: Truth,
  model: DiagnosisModel,
  strategy: Strategy,
  random: Random,
  onStep: (step: Step) => void = () => {},
): Search {
  const { hypotheses } = model;
  const readings: Weighed[] = [];
  const looks = new Map<string, number[][]>();
  let belief: number[] = hypotheses.map((hypothesis) => hypothesis.prior);
  const taken = new Map<string, string>();
  let measurements = [...model.measurements].sort((a, b) => placeInOrder(a) - placeInOrder(b));
  const result: Search = {
    reached: false,
    isCauseFirst: false,
    measurements: 0,
    minutes: 0,
    risk: 0,
    misled: false,
    energisedShort: false,
    said: null,
  };
  const truly = hypotheses[truth.hypothesis];
  const groupOf = groupsOf(model);
  let hasPowered = false;
  for (;;) {
    const sums = grouped(belief, groupOf);
    let first = 0;
    for (let at = 1; at < sums.length; at++) if ((sums[at] ?? 0) > (sums[first] ?? 0)) first = at;
    if ((sums[first] ?? 0) >= CONFIDENCE) {
      result.said ??= { share: sums[first] ?? 0, right: groupOf[truth.hypothesis] === first };
      if (groupOf[truth.hypothesis] === first) {
        const within = belief.filter((_, index) => groupOf[index] === first);
        return { ...result, reached: true, isCauseFirst: belief[truth.hypothesis] === Math.max(...within) };
      }
      result.misled = true;
    }
    const bench: Bench = {
      taken,
      tooHigh: [],
      hasPowered,
      isOutOfReach: ({ id }) => hasPowered && id.startsWith("1 V probe"),
    };
    const now = { ...model, measurements };
    const doubts = strategy === "chosen" ? doubtfulReadings(belief, readings, answerLines(hypotheses)) : [];
    const next = chooseNext(strategy, now, belief, bench, random, doubts);
    if (next === undefined || result.minutes >= MOST_MINUTES) return result;
    if (next.energises && truly?.isShort === true) result.energisedShort = true;
    hasPowered ||= next.energises;
    result.measurements++;
    result.minutes += next.minutes;
    result.risk += next.risk;
    const answer = truth.answer(next);
    taken.set(next.id, wordOf(answer, next.outcomes));
    const likelihood = weigh(next.chance, answer);
    belief = updated(belief, likelihood);
    onStep({
      measure: next.id,
      answer: wordOf(answer, next.outcomes),
      minutes: result.minutes,
      isDoubted: doubts.includes(next.proof),
      lines: grouped(belief, groupOf),
    });
    measurements = afterChipLook(measurements, next, answer);
    if (next.look === null) continue;
    readings.push({ proof: next.proof, outcome: wordOf(answer, next.outcomes), likelihood });
    const seen = [...(looks.get(next.proof) ?? []), answer];
    looks.set(next.proof, seen);
    measurements = afterLooks(measurements, next.proof, seen);
  }
}

/** Which line of a diagnosis each hypothesis belongs to. */
function groupsOf(model: DiagnosisModel): number[] {
  const groupOf: number[] = [];
  faultGroups(
    model.hypotheses,
    model.hypotheses.map((hypothesis) => hypothesis.prior),
  ).forEach((group, index) => {
    for (const member of group.members) groupOf[member] = index;
  });
  return groupOf;
}

function chooseNext(
  strategy: Strategy,
  model: DiagnosisModel,
  belief: readonly number[],
  bench: Bench,
  random: Random,
  doubts: readonly string[],
): Measurement | undefined {
  const held = heldBack(model, belief, bench);
  if (strategy === "chosen") return rankNext(model, belief, bench, held, doubts)[0]?.measurement;
  const open = model.measurements.filter((each) => isOpen(each, model, belief, bench, held));
  if (strategy === "random") return open[Math.floor(random.next() * open.length)];
  // A second or third look is taken where power is still held back, and not otherwise.
  return open.find(
    (each) =>
      !each.id.endsWith(AGAIN) && (held !== null || !["coldOhmsReversed", "coldOhmsFourWire"].includes(each.slot.in)),
  );
}
