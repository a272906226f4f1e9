import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { DiagnosisReadings } from "../../../shared/record/diagnosis.ts";
import { sayVolts } from "../../../shared/words/amounts.ts";
import type { Evidence } from "./evidence.ts";
import type { IdlePoints } from "./idle-points.ts";
import { looksAgain, VOLTS } from "./measurements.ts";
import type { DiagnosisModel } from "./model.ts";
import { type PowerTree, powerTreeOf } from "./power-tree.ts";
import { predictVolts } from "./predict-volts.ts";
import { voltsState } from "./reading-state.ts";
import { weigh, wordOf } from "./weigh.ts";

const VOLTS_WORDS = ["absent", "too low", "within tolerance", "too high"] as const;
const BIAS_WORDS = [
  "no bias",
  "too low a bias",
  "bias present, which does not prove that it swings",
  "too high",
] as const;

/**
 * Volts as evidence, first looks before second ones. A point that is down on a good board too says nothing while it is down; `notes` says
 * which and why.
 */
export function voltsEvidence(
  readings: DiagnosisReadings,
  model: DiagnosisModel,
  idle: IdlePoints,
): { evidence: Evidence[]; notes: string[] } {
  const { tree, data, roles } = model;
  const evidence: Evidence[] = [];
  const notes: string[] = [];
  const earlier = new Map<string, number[][]>();
  const looks = [...Object.entries(readings.volts), ...Object.entries(readings.signals)].map(([point, volts]) => ({
    point,
    volts,
    isAgain: false,
  }));
  looks.push(...Object.entries(readings.again).map(([point, volts]) => ({ point, volts, isAgain: true })));
  for (const { point, volts, isAgain } of looks) {
    const rail = tree.board.rails[point];
    const feed = tree.board.feeds[point];
    const nominal = rail?.volts ?? feed?.nominalVolts;
    if (nominal === undefined) continue;
    const tolerance = rail?.tolerance ?? feed?.tolerance;
    const measurement = model.measurements.find(
      ({ slot }) =>
        slot.point === point && (isAgain ? slot.in === "again" : slot.in === "volts" || slot.in === "signals"),
    );
    const how = isAgain ? ", read again" : "";
    const base = { measurement: measurement?.id ?? null, proof: `volts ${point}`, powered: true };
    if (volts === "pulsing") {
      const likelihood = model.hypotheses.map((hypothesis) => {
        const shares = predictVolts(hypothesis, point, tree, data, model.roleOf);
        return (1 - data.slip) * (shares[4] ?? 0) + data.slip / 5;
      });
      evidence.push({ text: `${point} pulses${how}`, likelihood, outcome: "pulsing", seen: [], ...base });
      continue;
    }
    const weights = voltsState(volts, {
      volts: nominal,
      signal: rail?.signal === true,
      ...(tolerance === undefined ? {} : { tolerance }),
    });
    const state = wordOf(weights, VOLTS);
    const waits = idle.why.get(point);
    if (waits !== undefined && (state === "absent" || state === "under")) {
      notes.push(`${point} at ${sayVolts(volts)} cannot be judged: ${waits}.`);
      continue;
    }
    const look = measurement?.look;
    if (look === undefined || look === null) continue;
    const seen = earlier.get(base.proof) ?? [];
    const words = roles.signals.get(point) === "clock" ? BIAS_WORDS : VOLTS_WORDS;
    const text = `${point} reads ${sayVolts(volts)}; it should read ${sayVolts(nominal)}${how}: ${wordOf(weights, words)}`;
    const likelihood = weigh(looksAgain(look, seen), weights);
    earlier.set(base.proof, [...seen, weights]);
    evidence.push({ text, likelihood, outcome: state, seen: weights, ...base });
  }
  return { evidence, notes };
}

/** Within this ratio a rail reads what its input reads; under the other it does not. */
const ALIKE = 0.85;
const APART = 0.7;
/** A rail this far above its nominal, as a share, must not be powered again before its cause is found (common practice, no source). */
const FAR_ABOVE = 1.2;

/** Rails that stand far above their nominal volts: their last reading counts. */
export const tooHighRails = (readings: DiagnosisReadings, board: BoardFile): string[] =>
  Object.keys(readings.volts).filter((rail) => {
    const volts = readings.again[rail] ?? readings.volts[rail];
    const entry = board.rails[rail];
    return entry !== undefined && entry.volts > 0 && typeof volts === "number" && volts > FAR_ABOVE * entry.volts;
  });

/** Rails that stand far too high and read what they are made from. */
export function passedOnRails(readings: DiagnosisReadings, board: BoardFile): ReadonlySet<string> {
  const tree = powerTreeOf(board);
  return new Set(tooHighRails(readings, board).filter((rail) => inputRead(rail, readings, tree) !== undefined));
}

/**
 * The evidence of a rail that reads too high together with its source: as high as its input points to a switch that passes the input
 * through, well under it to regulation (common practice, no source).
 */
export function passedOnEvidence(readings: DiagnosisReadings, model: DiagnosisModel): Evidence[] {
  const { tree } = model;
  return tooHighRails(readings, tree.board).flatMap((rail): Evidence[] => {
    const volts = readings.volts[rail];
    if (typeof volts !== "number" || tree.feedOfPlane(rail) !== null) return [];
    const isPassing = model.hypotheses.map(({ faults }) =>
      faults.some((fault) => fault.point === rail && fault.row.cold["in:at"] !== undefined),
    );
    if (!isPassing.includes(true)) return [];
    const base = { measurement: null, outcome: "compared", proof: `${rail} like its input`, powered: true, seen: [] };
    const alike = inputRead(rail, readings, tree);
    if (alike !== undefined) {
      const likelihood = isPassing.map((each) => (each ? 0.7 : 0.1));
      return [{ text: `${rail} reads ${sayVolts(volts)}, as ${alike.name} should`, likelihood, ...base }];
    }
    const highest = Math.max(...inputsOf(rail, tree).map(({ nominal }) => nominal));
    if (!Number.isFinite(highest) || volts > APART * highest) return [];
    const likelihood = isPassing.map((each) => (each ? 0.1 : 0.8));
    return [{ text: `${rail} reads too high, but far less than the voltage it is made from`, likelihood, ...base }];
  });
}

interface RailInput {
  name: string;
  nominal: number;
}

/** The source of a rail, where the rail reads as high. */
const inputRead = (rail: string, readings: DiagnosisReadings, tree: PowerTree): RailInput | undefined => {
  const volts = readings.volts[rail];
  if (typeof volts !== "number") return undefined;
  return inputsOf(rail, tree).find(({ nominal }) => volts >= ALIKE * nominal && volts <= nominal / ALIKE);
};

/** The possible sources of a rail: the rails it needs that are no signals, and where its power comes from, above its own volts. */
function inputsOf(rail: string, tree: PowerTree): RailInput[] {
  const entry = tree.board.rails[rail];
  const needs = (entry?.needs ?? []).filter((need) => tree.board.rails[need]?.signal !== true);
  const input = tree.inputOf(rail);
  return [...needs, ...(input === null ? [] : [input])].flatMap((name) => {
    const nominal = tree.board.rails[name]?.volts ?? tree.board.feeds[name.replace(/^feed:/, "")]?.nominalVolts ?? 0;
    return nominal > (entry?.volts ?? 0) ? [{ name, nominal }] : [];
  });
}
