import type { FaultData } from "../../../shared/fault-data.ts";
import type { BoardRoles } from "./board-roles.ts";
import { type Choice, rowEntropies } from "./expected-drop.ts";
import type { Hypothesis } from "./hypotheses.ts";
import type { PowerTree } from "./power-tree.ts";
import { predictCheck } from "./predict-check.ts";
import { type ColdPoint, feedBehind, predictCold } from "./predict-cold.ts";
import { DRAWS, predictDraw, predictLowProbe } from "./predict-draw.ts";
import { predictVolts } from "./predict-volts.ts";
import { slipped } from "./weigh.ts";

/** Which part of the readings an answer goes to, and under which name there. */
export interface Slot {
  in: "draw" | "coldOhms" | "coldOhmsReversed" | "coldOhmsFourWire" | "volts" | "signals" | "checks";
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
}

/** A second look tells a slip of the probe; a third, with four wires, tells leads and contact. */
const LOOKS = [
  { slot: "coldOhms", suffix: "", ask: "" },
  {
    slot: "coldOhmsReversed",
    suffix: ", leads reversed",
    ask: ", the leads the other way round: metal reads the same both ways",
  },
  { slot: "coldOhmsFourWire", suffix: ", four wires", ask: ", with four wires, or a known current and millivolts" },
] as const;

export const COLD = ["short", "low", "normal", "high"] as const;
/** A meter shows a pulsing rail as absent or low: the last state has no reading of its own. */
export const VOLTS = ["absent", "under", "normal", "over"] as const;
const PULSE_SEEN_AS = [0.4, 0.5, 0.1, 0] as const;

/** What a meter shows of the five powered states. */
export const seenOnMeter = (shares: readonly number[]): number[] =>
  VOLTS.map((_, state) => (shares[state] ?? 0) + (PULSE_SEEN_AS[state] ?? 0) * (shares[4] ?? 0));

/** Everything that can be measured on a board, with the chance of each outcome under each hypothesis. */
export function measurementsOf(
  tree: PowerTree,
  roles: BoardRoles,
  hypotheses: readonly Hypothesis[],
  data: FaultData,
): Measurement[] {
  const { board } = tree;
  const roleOf = (rail: string): string | undefined => roles.rails.get(rail);
  const list: Measurement[] = [];
  const add = (
    entry: Omit<Measurement, "chance" | "noiseBits" | "id" | "whereShort" | "points" | "proof"> &
      Partial<Pick<Measurement, "whereShort" | "points" | "proof">>,
    predict: (hypothesis: Hypothesis) => readonly number[],
  ): void => {
    const chance = hypotheses.map((hypothesis) => slipped(predict(hypothesis), data.slip));
    list.push({
      whereShort: null,
      points: [],
      proof: entry.measure,
      ...entry,
      id: entry.measure,
      chance,
      noiseBits: rowEntropies(chance),
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
      ask: "First power-up by its plan, under the current limit, and the class of its draw",
      slot: { in: "draw", point: null },
      outcomes: DRAWS,
      energises: true,
      ...data.costs.powerUp,
    },
    (hypothesis) => predictDraw(hypothesis, tree, data, roleOf),
  );
  for (const rail of tree.rails) {
    const isSignal = board.rails[rail]?.signal === true;
    add(
      {
        measure: `${isSignal ? "level" : "volts"} ${rail}`,
        ask: `${isSignal ? "Level" : "Volts"} of ${rail} while powered${where(rail)}`,
        slot: { in: isSignal ? "signals" : "volts", point: rail },
        points: [rail],
        outcomes: VOLTS,
        energises: true,
        ...(isSignal ? data.costs.signal : data.costs.volts),
      },
      (hypothesis) => seenOnMeter(predictVolts(hypothesis, rail, tree, data, roleOf)),
    );
  }
  for (const [name, entry] of Object.entries(data.checks)) {
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
      add(
        {
          measure: full,
          ask: point === null ? entry.ask : `${entry.ask}: ${point}${where(point)}`,
          slot: { in: "checks", point: full },
          points: point === null ? [] : [point],
          outcomes: Object.keys(entry.healthy),
          energises: entry.energises,
          minutes: entry.minutes,
          risk: entry.risk,
          whereShort: entry.whereShort ? point : null,
          proof: name,
        },
        (hypothesis) => predictCheck(hypothesis, { name, entry, point }, tree, roleOf),
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
