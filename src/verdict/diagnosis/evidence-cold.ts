import type { DiagnosisReadings } from "../../../shared/record/diagnosis.ts";
import { sayOhms } from "../../../shared/words/amounts.ts";
import { coldLimitsOf } from "./cold-limits.ts";
import type { Evidence } from "./evidence.ts";
import { COLD, coldLook, looksAgain, type Measurement, pairLook } from "./measurements.ts";
import type { DiagnosisModel } from "./model.ts";
import { feedBehind, predictCold } from "./predict-cold.ts";
import { coldState } from "./reading-state.ts";
import { weigh, wordOf } from "./weigh.ts";

const COLD_WORDS = ["short", "low", "normal", "high or open"] as const;

const LOOKS = [
  ["coldOhms", ""],
  ["coldOhmsReversed", ", leads reversed"],
  ["coldOhmsFourWire", ", four wires"],
] as const;

/** A pair of one feed's connector and its plane is a look across the fuse: below this it is whole, ohms. */
const FUSE_OHMS = 5;

/** Cold readings as evidence. `notes` says which count for nothing and which rest on shipped spans. */
export function coldEvidence(
  readings: DiagnosisReadings,
  model: DiagnosisModel,
): { evidence: Evidence[]; notes: string[] } {
  const { tree, roles, data } = model;
  const evidence: Evidence[] = [];
  const notes: string[] = [];
  const defaults = new Set<string>();
  const earlier = new Map<string, number[][]>();
  for (const [slot, how] of LOOKS) {
    for (const [point, ohms] of Object.entries(readings[slot])) {
      const [first = "", second = null] = point.split(":");
      const text = `${point} reads ${typeof ohms === "number" ? sayOhms(ohms) : "open"} cold${how}`;
      const feed = feedBehind(first, tree);
      if (second !== null && feed !== null && feed === feedBehind(second, tree)) {
        const fuse = acrossFuse(feed, ohms, text, model);
        if (fuse !== null) evidence.push(fuse);
        continue;
      }
      const limits = coldLimitsOf(point, tree, roles, data);
      if (limits === null) {
        notes.push(`No healthy ohms are known for ${point}, so its cold reading is not used.`);
        continue;
      }
      if (limits.isDefault) defaults.add(point);
      const weights = coldState(ohms, limits, slot === "coldOhmsFourWire");
      const measurement =
        model.measurements.find((each) => each.slot.in === slot && each.slot.point === point) ??
        samePair(point, slot, model);
      const proof = `cold ohms ${measurement?.slot.point ?? point}`;
      const states = model.hypotheses.map((hypothesis) => predictCold(hypothesis, { first, second }, tree, data));
      const seen = earlier.get(proof) ?? [];
      const kind = second === null ? coldLook(data) : pairLook(data);
      const chance = looksAgain({ kind, states, isRuledOut: [] }, seen);
      earlier.set(proof, [...seen, weights]);
      evidence.push({
        text: `${text}: ${wordOf(weights, COLD_WORDS)}`,
        likelihood: weigh(chance, weights),
        measurement: measurement?.id ?? null,
        outcome: wordOf(weights, COLD),
        proof,
        powered: false,
        seen: weights,
      });
    }
  }
  if (defaults.size > 0) {
    notes.push(
      `The board file has no healthy ohms for ${[...defaults].join(", ")}, so built-in values are used, which are weak.`,
    );
  }
  return { evidence, notes };
}

function acrossFuse(feed: string, ohms: number | "open" | "OL", text: string, model: DiagnosisModel): Evidence | null {
  const fuse = model.measurements.find((each) => each.slot.in === "checks" && each.slot.point === `fuse ${feed}`);
  if (fuse === undefined) return null;
  const isWhole = typeof ohms === "number" && ohms < FUSE_OHMS;
  const weights = fuse.outcomes.map((answer) => ((answer === "joined") === isWhole ? 1 : 0));
  return {
    text: `${text}: the path across the fuse is ${isWhole ? "whole" : "open"}`,
    likelihood: weigh(fuse.chance, weights),
    measurement: fuse.id,
    outcome: isWhole ? "joined" : "open",
    proof: fuse.proof,
    powered: false,
    seen: weights,
  };
}

/** The proposed measurement that a pair's reading answers: the same rail against the same feed. */
function samePair(point: string, slot: string, model: DiagnosisModel): Measurement | undefined {
  const endsOf = (pair: string): string[] => pair.split(":").map((end) => feedBehind(end, model.tree) ?? end);
  const ends = endsOf(point);
  if (ends.length !== 2) return undefined;
  return model.measurements.find((each) => {
    if (each.slot.in !== slot) return false;
    const other = endsOf(each.slot.point ?? "");
    return other.length === 2 && ends.every((end) => other.includes(end));
  });
}

/** Within this ratio two points read alike; beyond the other they are not joined. */
const ALIKE = 1.2;
const APART = 2;

/**
 * The evidence of two cold readings together. A rail joined to its input reads as its input does: alike points to a switch that
 * passes its input through (common practice: 12 V that reads like the core), clearly higher at the input speaks against it.
 */
export function tiedEvidence(readings: DiagnosisReadings, model: DiagnosisModel): Evidence[] {
  const { tree, hypotheses } = model;
  const found: Evidence[] = [];
  const ohmsOf = (point: string | null): number | null => {
    const ohms = point === null ? undefined : readings.coldOhms[point];
    return typeof ohms === "number" && ohms > 0 ? ohms : null;
  };
  for (const rail of model.roles.rails.keys()) {
    const feed = tree.inputOf(rail);
    if (feed === null) continue;
    const input = tree.planeOf(feed) !== null && ohmsOf(tree.planeOf(feed)) !== null ? tree.planeOf(feed) : feed;
    const [above, below] = [ohmsOf(input), ohmsOf(rail)];
    if (above === null || input === null) continue;
    const joined = hypotheses.map((hypothesis) =>
      hypothesis.faults.find(
        (fault) => fault.point === rail && fault.feed === feed && fault.row.cold["in:at"] !== undefined,
      ),
    );
    if (joined.every((fault) => fault === undefined)) continue;
    if (below === null) {
      const least = tree.board.rails[rail]?.coldOhms?.[0];
      if (least !== undefined && above < least / APART) found.push(belowRail({ input, above, rail, least }, joined));
      continue;
    }
    const ratio = above / below;
    const base = { measurement: null, outcome: "compared", proof: `${input} like ${rail}`, powered: false, seen: [] };
    if (ratio < ALIKE && ratio > 1 / ALIKE) {
      const likelihood = joined.map((fault) => (fault === undefined ? 0.1 : 0.7));
      found.push({
        text: `${input} and ${rail} read the same cold, ${sayOhms(above)} and ${sayOhms(below)}`,
        likelihood,
        ...base,
      });
    } else if (ratio > APART) {
      // A fault that predicts the reading of the input has already been weighed by it.
      const likelihood = joined.map((fault) =>
        fault !== undefined && fault.row.cold["in"] === undefined ? 0.03 : 0.8,
      );
      found.push({
        text: `${input} reads ${sayOhms(above)} and ${rail} reads ${sayOhms(below)}: they are not connected`,
        likelihood,
        ...base,
      });
    }
  }
  return found;
}

/**
 * A switch that passes its input on puts the rail's own ohms there. Less than half of what the rail reads on good boards, and something
 * else conducts at the input, or the rail would have to be shorted as well: two faults, as unlikely as a joint between what reads apart.
 */
const belowRail = (
  { input, above, rail, least }: { input: string; above: number; rail: string; least: number },
  joined: readonly unknown[],
): Evidence => ({
  text: `${input} reads ${sayOhms(above)}, less than ${rail} reads on a good board, ${sayOhms(least)} or more`,
  likelihood: joined.map((fault) => (fault === undefined ? 0.8 : 0.03)),
  measurement: null,
  outcome: "compared",
  proof: `${input} like ${rail}`,
  powered: false,
  seen: [],
});
