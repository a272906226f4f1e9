import type { FaultData } from "../../../shared/files/fault-data.ts";
import type { BoardRoles } from "./board-roles.ts";
import { type ChipLook, chipChance, chipLook } from "./chip-running.ts";
import type { Choice } from "./expected-drop.ts";
import type { Hypothesis } from "./hypotheses.ts";
import { firstLook, type LookKind, nextLook } from "./looks.ts";
import type { PowerTree } from "./power-tree.ts";
import { predictCheck, predictChip } from "./predict-check.ts";
import { type ColdPoint, feedBehind, predictCold } from "./predict-cold.ts";
import { DRAWS, predictDraw, predictLowProbe } from "./predict-draw.ts";
import { predictVolts } from "./predict-volts.ts";
import { isShortedAt } from "./short-at.ts";
import { slipped } from "./weigh.ts";

/** Which part of the readings an answer goes to, and under which name there. */
export interface Slot {
  in:
    | "draw"
    | "coldOhms"
    | "coldOhmsReversed"
    | "coldOhmsFourWire"
    | "volts"
    | "signals"
    | "again"
    | "checks"
    | "state";
  point: string | null;
}

/** Something that can be measured on this board. */
export interface Measurement extends Choice {
  measure: string;
  ask: string;
  slot: Slot;
  /** The points it touches: none of them may be out of reach. */
  points: readonly string[];
  outcomes: readonly string[];
  /** Offered only where a short or leak at this point is a candidate. */
  whereShort: string | null;
  /** Two readings of one kind at one point are one proof. */
  proof: string;
  /** For a point that can be measured more than once: its chance of each state, and how a measurement sees it. */
  look: Looks | null;
  /** A look at whether the chip runs; null for anything else. */
  chip: ChipLook | null;
  /** The role of the signal it looks at, where it is a look at one. */
  signal: string | null;
  needsHost: boolean;
  /** It waits until each of these checks has one of these answers. */
  after: ReadonlyMap<string, readonly string[]>;
}

const NOTHING: ReadonlyMap<string, readonly string[]> = new Map();
/** Most measurements leave these out. */
type Optional = "whereShort" | "points" | "proof" | "chip" | "signal" | "needsHost" | "after";

/** A point that may be looked at several times, as seen by each hypothesis. */
export interface Looks {
  kind: LookKind;
  states: readonly (readonly number[])[];
  /** True where "normal" rules the hypothesis out: what reads its nominal volts under power is not shorted. */
  isRuledOut: readonly boolean[];
}

/** Chance of "normal" left to a short at a point that reads its nominal volts, as a share of what a slip alone would leave. */
const RULED_OUT_SHARE = 0.001;

/** Chance of each outcome of the next look under each hypothesis, given what earlier looks came nearest to. */
export function looksAgain(look: Looks, earlier: readonly (readonly number[])[]): number[][] {
  return look.states.map((states, hypothesis) => {
    const chance = earlier.length === 0 ? firstLook(states, look.kind) : nextLook(states, look.kind, earlier);
    if (look.isRuledOut[hypothesis] !== true) return chance;
    const normal = (chance[2] ?? 0) * RULED_OUT_SHARE;
    const rest = 1 - (chance[2] ?? 0);
    return chance.map((share, outcome) => (outcome === 2 ? normal : (share / rest) * (1 - normal)));
  });
}

/** The same measurements once a point was looked at: the chances of further looks at it follow from what was seen. */
export function afterLooks(
  measurements: readonly Measurement[],
  proof: string,
  earlier: readonly (readonly number[])[],
): Measurement[] {
  return measurements.map((each) => {
    if (each.proof !== proof || each.look === null) return each;
    return { ...each, chance: looksAgain(each.look, earlier) };
  });
}

/** A second look tells a slip of the probe; a third, with four wires, tells leads and contact. */
const LOOKS = [
  { slot: "coldOhms", suffix: "", ask: "" },
  {
    slot: "coldOhmsReversed",
    suffix: ", leads reversed",
    ask: ", with the leads reversed: metal reads the same both ways",
  },
  { slot: "coldOhmsFourWire", suffix: ", four wires", ask: ", with four wires, or a known current and millivolts" },
] as const;

export const COLD = ["short", "low", "normal", "high"] as const;
/** A meter shows a pulsing rail as absent or low: the last state has no reading of its own. */
export const VOLTS = ["absent", "under", "normal", "over"] as const;
const PULSE_SEEN_AS = [0.4, 0.5, 0.1, 0] as const;

/** A meter's view of the five powered states. */
export const seenOnMeter = (shares: readonly number[]): number[] =>
  VOLTS.map((_, state) => (shares[state] ?? 0) + (PULSE_SEEN_AS[state] ?? 0) * (shares[4] ?? 0));

/** The look at ohms. */
export const coldLook = ({ slip, states }: FaultData): LookKind => ({
  slip,
  slipShows: states.coldSlip,
  isOddAtTimes: true,
});
/** The look at ohms between two points: a pair has no high end, so that a probe without contact reads as a healthy pair. */
export const pairLook = (data: FaultData): LookKind => {
  const [short = 0, low = 0, normal = 0, high = 0] = data.states.coldSlip;
  return { ...coldLook(data), slipShows: [short, low, normal + high, 0] };
};
/** The look at volts. */
export const voltsLook = ({ slip, states }: FaultData): LookKind => ({
  slip,
  slipShows: states.voltsSlip,
  isOddAtTimes: false,
});

/** The look at a check: a slip shows any answer alike, and what the board itself has stays. */
const checkLook = ({ slip }: FaultData, answers: number): LookKind => ({
  slip,
  slipShows: Array<number>(answers).fill(1 / answers),
  isOddAtTimes: false,
});
/** The ending of the name of a check that is made once more. */
export const AGAIN = ", again";
/** A check that takes longer is seldom made twice (common practice, no source). */
const MOST_REPEATED_MINUTES = 5;

/**
 * Lists everything that can be measured on a board: `hypotheses` decide which checks fit it. Each entry has the chance of each outcome under
 * each of `weighed`, which is all of `hypotheses` by default.
 */
export function measurementsOf(
  tree: PowerTree,
  roles: BoardRoles,
  traits: ReadonlySet<string>,
  hypotheses: readonly Hypothesis[],
  data: FaultData,
  weighed: readonly Hypothesis[] = hypotheses,
): Measurement[] {
  const { board } = tree;
  const roleOf = (rail: string): string | undefined => roles.rails.get(rail);
  const list: Measurement[] = [];
  const add = (
    entry: Omit<Measurement, "chance" | "id" | "look" | Optional> &
      Partial<Pick<Measurement, Optional>> & {
        look?: Omit<Looks, "states">;
      },
    predict: (hypothesis: Hypothesis) => readonly number[],
  ): void => {
    const states = weighed.map(predict);
    const { chip = null } = entry;
    const look = entry.look === undefined ? null : { ...entry.look, states };
    const chance =
      chip !== null
        ? chipChance(chip)
        : look === null
          ? states.map((shares) => slipped(shares, data.slip))
          : looksAgain(look, []);
    list.push({
      whereShort: null,
      points: [],
      proof: entry.measure,
      chip: null,
      signal: null,
      needsHost: false,
      after: NOTHING,
      ...entry,
      look,
      id: entry.measure,
      chance,
    });
  };
  const regulated = [...roles.rails.keys()];
  const supplies = tree.rails.filter((rail) => board.rails[rail]?.signal !== true);
  const where = (point: string): string => {
    const text = board.rails[point]?.point;
    return text === undefined ? "" : `: ${text}`;
  };

  const coldPoints: ColdPoint[] = [...Object.keys(board.feeds), ...supplies].map((first) => ({ first, second: null }));
  coldPoints.push(...pairsOf(tree, regulated).map(([first, second]) => ({ first, second })));
  for (const cold of coldPoints) {
    const { first, second } = cold;
    const point = second === null ? first : `${first}:${second}`;
    const to =
      second === null
        ? `of ${first} to ground${Object.hasOwn(board.feeds, first) ? " at its connector" : ""}`
        : `from ${first} to ${second}`;
    const ask = `Ohms ${to}, board off and cold${second === null ? where(first) : ""}`;
    for (const look of LOOKS) {
      add(
        {
          measure: `cold ohms ${point}${look.suffix}`,
          ask: `${ask}${look.ask}`,
          slot: { in: look.slot, point },
          points: second === null ? [first] : [first, second],
          outcomes: COLD,
          proof: `cold ohms ${point}`,
          look: { kind: second === null ? coldLook(data) : pairLook(data), isRuledOut: [] },
          energises: false,
          ...(look.slot === "coldOhmsFourWire"
            ? data.costs.fourWire
            : second === null
              ? data.costs.coldOhms
              : data.costs.coldPair),
        },
        (hypothesis) => predictCold(hypothesis, cold, tree, data),
      );
    }
  }
  for (const feed of Object.keys(board.feeds)) {
    add(
      {
        measure: `1 V probe ${feed}`,
        ask: `Put 0.9 V on ${feed} at a small limit and see what it draws: no converter runs there`,
        slot: { in: "checks", point: `low-probe ${feed}` },
        points: [feed],
        outcomes: ["short", "partial", "clean"],
        energises: false,
        ...data.costs.lowProbe,
      },
      (hypothesis) => predictLowProbe(hypothesis, feed, tree, data),
    );
  }
  add(
    {
      measure: "draw at nominal volts",
      ask: "First power-up with its stages and current limit, and the class of its draw",
      slot: { in: "draw", point: null },
      outcomes: DRAWS,
      energises: true,
      ...data.costs.powerUp,
    },
    (hypothesis) => predictDraw(hypothesis, tree, data, roleOf),
  );
  for (const point of [...Object.keys(board.feeds), ...tree.rails]) {
    const isSignal = board.rails[point]?.signal === true;
    const measure = `${isSignal ? "level" : "volts"} ${point}`;
    const ask = `${isSignal ? "Level" : "Volts"} of ${point} while powered${where(point)}`;
    const look = {
      kind: voltsLook(data),
      isRuledOut: weighed.map((hypothesis) => isShortedAt(hypothesis, point, tree)),
    };
    const shared = { points: [point], outcomes: VOLTS, energises: true, proof: `volts ${point}`, look };
    const cost = isSignal ? data.costs.signal : data.costs.volts;
    const predict = (hypothesis: Hypothesis): number[] =>
      seenOnMeter(predictVolts(hypothesis, point, tree, data, roleOf));
    add({ measure, ask, slot: { in: isSignal ? "signals" : "volts", point }, ...shared, ...cost }, predict);
    const again = { measure: `${measure}, again`, ask: `${ask}, again: lift the probe first` };
    add({ ...again, slot: { in: "again", point }, ...shared, ...cost }, predict);
  }
  const asked = new Set(hypotheses.flatMap(({ faults }) => faults.flatMap(({ row }) => Object.keys(row.checks))));
  /** A look that no fault of this board would show in is not for this kind of board. */
  const isOfBoard = (name: string): boolean =>
    (data.checks[name]?.per !== undefined || asked.has(name)) &&
    data.checks[name]?.onlyWith?.some((trait) => traits.has(trait)) !== false;
  for (const [name, entry] of Object.entries(data.checks)) {
    if (!isOfBoard(name)) continue;
    const points: readonly (string | null)[] =
      entry.per === undefined
        ? [null]
        : entry.per === "feed"
          ? Object.keys(board.feeds)
          : entry.per === "rail"
            ? regulated
            : [...Object.keys(board.feeds), ...regulated];
    for (const point of points) {
      const full = point === null ? name : `${name} ${point}`;
      const outcomes = Object.keys(entry.healthy);
      // A look at a point of its own has other looks beside it; only one of the whole board is repeated.
      const isRepeated = point === null && entry.sees === undefined && entry.minutes <= MOST_REPEATED_MINUTES;
      const check = { name, entry, point };
      const chip =
        entry.sees === undefined ? null : chipLook(predictChip(weighed, check, { tree, roleOf, data }), data.slip);
      for (const suffix of isRepeated ? ["", AGAIN] : [""])
        add(
          {
            measure: `${full}${suffix}`,
            ask: `${entry.ask}${point === null ? "" : `: ${point}${where(point)}`}${suffix}`,
            slot: { in: "checks", point: `${full}${suffix}` },
            points: point === null ? [] : [point],
            outcomes,
            energises: entry.energises,
            minutes: entry.minutes,
            risk: entry.risk,
            whereShort: entry.whereShort ? point : null,
            proof: entry.sees ?? name,
            chip,
            signal: entry.signal ?? null,
            needsHost: entry.needsHost,
            after: new Map(Object.entries(entry.after).filter(([check]) => isOfBoard(check))),
            ...(isRepeated ? { look: { kind: checkLook(data, outcomes.length), isRuledOut: [] } } : {}),
          },
          (hypothesis) => predictCheck(hypothesis, check, tree, roleOf),
        );
    }
  }
  return list;
}

/** Pairs worth measuring: the board's own, and each regulated rail against the feed its power comes from. */
export function pairsOf(tree: PowerTree, regulated: readonly string[]): (readonly [string, string])[] {
  const pairs = Object.keys(tree.board.coldPairs).map((pair): readonly [string, string] => {
    const [first = "", second = ""] = pair.split(":");
    return [first, second];
  });
  for (const rail of regulated) {
    const feed = tree.inputOf(rail);
    if (feed === null) continue;
    const isThere = pairs.some(
      (pair) => pair.includes(rail) && pair.some((end) => end !== rail && feedBehind(end, tree) === feed),
    );
    if (!isThere) pairs.push([tree.planeOf(feed) ?? feed, rail]);
  }
  return pairs;
}
