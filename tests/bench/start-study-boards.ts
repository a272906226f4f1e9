import { BoardFile } from "../../shared/files/board-file.ts";
import { ScenarioFile } from "../../shared/files/scenario-file.ts";
import { SimulatedBoard } from "../../src/simulator/simulated-board.ts";
import { supplyDefaults } from "../../src/simulator/supply-defaults.ts";

export interface StudyBoard {
  farads: number;
  lockOutVolts: readonly [number, number];
  /** What the converters take from the feed once all run, watts. */
  demandWatts: number;
  fan: boolean;
  /** Time the supply takes from 0 to 12 V, milliseconds. */
  riseMs: number;
  /** Whether a board file states capacitors and lock-out, or nobody knows the board. */
  described: boolean;
}

export const FEED = "aux12";
export const NOMINAL_VOLTS = 12;
export const FIRST_AMPS = 2;
export const MOST_AMPS = 5;
/** Where the ladder of the shipped defaults goes from the first limit. */
export const NEXT_AMPS = 3;

/** Input capacitors, converters' lock-outs and demands: common practice of the trade, no source. */
const FARADS = [0.0005, 0.001, 0.002, 0.004];
export const LOCK_OUTS = [
  [4.0, 3.7],
  [7.5, 7.0],
  [9, 8],
] as const;
const DEMANDS = [6, 12, 18, 24, 36];
const RISES = [5, 100];

/** Every board of the study whose converters have this lock-out; every other one has a board file. */
export function studyBoards(lockOutVolts: readonly [number, number]): StudyBoard[] {
  return FARADS.flatMap((farads, row) =>
    DEMANDS.flatMap((demandWatts, column) =>
      [false, true].flatMap((fan, of) =>
        RISES.map((riseMs, at) => {
          const described = (row + column + of + at) % 2 === 0;
          return { farads, lockOutVolts, demandWatts, fan, riseMs, described };
        }),
      ),
    ),
  );
}

export const nameOf = ({ farads, lockOutVolts, demandWatts, fan, riseMs, described }: StudyBoard): string =>
  `${farads * 1000} mF, ${lockOutVolts.join("/")} V, ${demandWatts} W${fan ? " and a fan" : ""}, ${riseMs} ms, ${described ? "described" : "unknown"}`;

const EFFICIENCY = 0.85;
/** Shares of the demand, and when each converter begins after the lock-out: 1–20 ms between rails (common practice, no source). */
const CONVERTERS = [
  { share: 0.1, afterMs: 2 },
  { share: 0.3, afterMs: 6 },
  { share: 0.6, afterMs: 12 },
];

export function scenarioOf(board: StudyBoard): ScenarioFile {
  const lockOutVolts: [number, number] = [...board.lockOutVolts];
  return ScenarioFile.parse({
    version: 1,
    title: "a healthy board of the start study",
    ...(board.described
      ? {
          board: BoardFile.parse({
            version: 1,
            name: "Wren W1",
            feeds: {
              [FEED]: {
                nominalVolts: NOMINAL_VOLTS,
                firstAmps: FIRST_AMPS,
                limitAmps: MOST_AMPS,
                maxVolts: 13.2,
                inputFarads: [board.farads / 2, board.farads],
                lockOutVolts,
              },
            },
          }),
        }
      : {}),
    coldOhms: { [FEED]: 12_000 },
    feeds: {
      [FEED]: {
        nominalVolts: NOMINAL_VOLTS,
        inputFarads: board.farads,
        lockOutVolts,
        loads: [
          { load: "bias", amps: 0.012, fromVolts: 3 },
          ...CONVERTERS.map(({ share, afterMs }) => ({
            load: "converter" as const,
            watts: share * board.demandWatts * EFFICIENCY,
            efficiency: EFFICIENCY,
            lockOutVolts,
            afterMs,
            softStartMs: 3,
          })),
          ...(board.fan ? [{ load: "fan" as const, startAmps: 0.8, startMs: 300, amps: 0.25, fromVolts: 5 }] : []),
        ],
      },
    },
    supply: { riseMs: board.riseMs },
    expected: { class: "cannot-tell", why: "a study looks at starting only" },
  });
}

export interface StartAlone {
  /** At nominal and never limiting in the last half second. */
  settles: boolean;
  /** Most limiting in any second, milliseconds. */
  limitedMs: number;
}

const STEP_MS = 5;
const FOR_MS = 2000;

/**
 * What the board does on a bare output that is switched on at nominal volts and left alone: the circuit only, with no
 * plan, no readings and nobody who would cut.
 */
export function startAlone(board: StudyBoard, limitAmps: number): StartAlone {
  const scenario = scenarioOf(board);
  const traits = { ...supplyDefaults, ...scenario.supply };
  const alone = new SimulatedBoard({ scenario, board: null, traits, seed: 1, startMs: 0 });
  const { stage } = alone.feed(FEED);
  stage.setVolts = NOMINAL_VOLTS;
  stage.limitAmps = limitAmps;
  alone.switchOutput(FEED, "on", "the study");
  const limitedBy = [0];
  let leastVolts = Number.POSITIVE_INFINITY;
  for (let atMs = STEP_MS; atMs <= FOR_MS; atMs += STEP_MS) {
    alone.advanceTo(atMs);
    const feed = alone.truth().feeds[FEED];
    limitedBy.push(feed?.limitedMs ?? Number.NaN);
    if (atMs > FOR_MS - 500) leastVolts = Math.min(leastVolts, feed?.boardVolts ?? Number.NaN);
  }
  const within = (ms: number, end: number): number =>
    (limitedBy[end] ?? 0) - (limitedBy[Math.max(0, end - ms / STEP_MS)] ?? 0);
  return {
    settles: leastVolts >= 0.9 * NOMINAL_VOLTS && within(500, limitedBy.length - 1) === 0,
    limitedMs: Math.max(...limitedBy.map((_, end) => within(1000, end))),
  };
}
