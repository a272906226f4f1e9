import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { ColdReadings } from "../../../shared/permit.ts";
import { isSameOhms } from "../../analysis/cold-judgement.ts";
import { coldOhmsOf, type PlanProblem } from "../../analysis/cold-readings.ts";

export interface InjectionCap {
  volts: number;
  nominalVolts: number;
  /** The source of the number, in words. */
  because: string;
}

/**
 * Most volts into a rail by what it is. Common practice, no source: 70–90 % of nominal, lower where a shorted switch may
 * be the core itself. A rail with another name goes by its volts.
 */
const CAPS: readonly { name: RegExp; volts: number; words: string }[] = [
  { name: /core/i, volts: 0.7, words: "core" },
  { name: /pll|pcie|soc/i, volts: 0.7, words: "PLL" },
  { name: /mem/i, volts: 1, words: "memory" },
];
const CAPS_BY_VOLTS: readonly { fromVolts: number; volts: number; words: string }[] = [
  { fromVolts: 9, volts: 1, words: "12 V input" },
  { fromVolts: 4, volts: 3, words: "5 V rail" },
  { fromVolts: 2.8, volts: 2.5, words: "3.3 V rail" },
  { fromVolts: 1.6, volts: 1.5, words: "1.8 V rail" },
  { fromVolts: 1.2, volts: 1, words: "memory" },
  { fromVolts: 0, volts: 0.7, words: "core" },
];
/** A 12 V input that reads like the core is the core, through a shorted switch. */
const LIKE_CORE_VOLTS = 0.8;
/** Ohms that no 12 V input of a board without a short reads; used when the core was not measured (common practice, no source). */
const CORE_MOST_OHMS = 5;
/** More volts than this may make a spark that lights alcohol (common practice, no source). */
const ALCOHOL_VOLTS = 1;
/** Never more than this share of the rail's own nominal. */
const SHARE = 0.9;

/** Rails a technician may name where no board file says what there is, with their usual volts. */
const USUAL_VOLTS: Readonly<Record<string, number>> = {
  core: 0.85,
  mem: 1.35,
  memory: 1.35,
  soc: 0.8,
  pll: 0.9,
  pcie: 0.9,
  "12v": 12,
  "5v": 5,
  "3v3": 3.3,
  "1v8": 1.8,
};

/** The cap for this rail, or why nothing may be injected into it. `lowerTo` lowers it further and never raises it. */
export function injectionCap(options: {
  rail: string;
  board: BoardFile | null;
  coldOhms: ColdReadings;
  lowerTo?: number;
  alcohol?: boolean;
}): InjectionCap | PlanProblem {
  const { rail, board, coldOhms, lowerTo, alcohol = false } = options;
  const nominalVolts = nominalOf(rail, board);
  if (typeof nominalVolts !== "number") return nominalVolts;
  const named = CAPS.find((each) => each.name.test(rail) && nominalVolts < 2);
  const byVolts = CAPS_BY_VOLTS.find((each) => nominalVolts >= each.fromVolts);
  const { volts, words } = named ?? byVolts ?? { volts: 0.7, words: "core" };
  const isInput = nominalVolts >= 9;
  const asCore = isInput ? likeCore(rail, coldOhms) : null;
  const dry = Math.min(asCore === null ? volts : LIKE_CORE_VOLTS, SHARE * nominalVolts);
  const cap = alcohol ? Math.min(dry, ALCOHOL_VOLTS) : dry;
  if (lowerTo !== undefined && !(lowerTo > 0 && lowerTo <= cap * 1.0001))
    return {
      path: "cap",
      message: `is ${lowerTo} V; it should be more than 0 and at most ${cap} V for this rail: a cap can only be lowered`,
    };
  const why =
    cap < dry
      ? "the highest cap while there is alcohol on the board"
      : (asCore ?? (cap < volts ? `90 % of its ${nominalVolts} V` : `the highest cap for a ${words}`));
  return {
    volts: Math.round((lowerTo ?? cap) * 1000) / 1000,
    nominalVolts,
    because: lowerTo === undefined ? why : `lowered from ${cap} V, ${why}`,
  };
}

function nominalOf(rail: string, board: BoardFile | null): number | PlanProblem {
  const unknown = (there: readonly string[]): PlanProblem => ({
    path: "rail",
    message: `is ${JSON.stringify(rail)}; it should be one of: ${there.join(", ")}`,
  });
  if (board === null) {
    return Object.hasOwn(USUAL_VOLTS, rail) ? (USUAL_VOLTS[rail] ?? 0) : unknown(Object.keys(USUAL_VOLTS));
  }
  const rails = Object.entries(board.rails).filter(([, each]) => each.signal !== true && each.volts > 0);
  if (Object.hasOwn(board.feeds, rail)) return board.feeds[rail]?.nominalVolts ?? 0;
  if (Object.hasOwn(board.rails, rail) && board.rails[rail]?.signal === true)
    return { path: "rail", message: `is ${rail}, which is a signal; nothing is injected into a signal` };
  const found = rails.find(([name]) => name === rail);
  return found?.[1].volts ?? unknown([...rails.map(([name]) => name), ...Object.keys(board.feeds)]);
}

/** Why a 12 V input counts as the core; null where its cold ohms say that it is not. */
function likeCore(rail: string, cold: ColdReadings): string | null {
  const own = coldOhmsOf(cold, rail);
  const core = coldOhmsOf(cold, "core");
  if (own === null) return "its cold ohms were not given, so it may be connected to the core by a shorted switch";
  const isCore = core === null ? own <= CORE_MOST_OHMS : isSameOhms(own, core);
  return isCore ? `it reads ${own} Ω like the core, so it is connected to the core by a shorted switch` : null;
}
