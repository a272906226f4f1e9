import type { DiagnosisReadings } from "../../../shared/record/diagnosis.ts";
import { classInSentence } from "../../../shared/words/class-words.ts";
import { afterChipLook } from "./chip-running.ts";
import { coldEvidence, tiedEvidence } from "./evidence-cold.ts";
import { sagEvidence } from "./evidence-sag.ts";
import { passedOnEvidence, voltsEvidence } from "./evidence-volts.ts";
import { type IdlePoints, idlePoints } from "./idle-points.ts";
import { looksAgain } from "./measurements.ts";
import type { DiagnosisModel } from "./model.ts";
import { DRAWS } from "./predict-draw.ts";
import { saggingInputs } from "./sagging-inputs.ts";
import { weigh } from "./weigh.ts";

/** One reading, and how likely it is under each hypothesis, given the looks at the same point that come before it. */
export interface Evidence {
  /** "core reads 20 mΩ cold: short". */
  text: string;
  likelihood: readonly number[];
  /** The measurement it answers; null for one nobody would have proposed. */
  measurement: string | null;
  /** The outcome it comes nearest to. */
  outcome: string;
  /** Readings with the same word are one proof. */
  proof: string;
  /** True where the board was powered for it. */
  powered: boolean;
  /** Shares of the outcomes that the reading stands for; empty if it is not one. */
  seen: readonly number[];
}

/** Every reading as evidence; what says nothing, and why, is in `notes`. */
export function evidenceOf(
  readings: DiagnosisReadings,
  model: DiagnosisModel,
): { evidence: Evidence[]; notes: string[]; idle: IdlePoints } {
  const idle = idlePoints(readings, model.tree, model.roles);
  const sags = saggingInputs(readings, model.tree);
  const cold = coldEvidence(readings, model);
  const volts = voltsEvidence(readings, model, idle);
  const checks = checkEvidence(readings, model, idle);
  const notes = [...cold.notes, ...volts.notes, ...checks.notes];
  if (readings.draw === "cannot-tell") notes.push("The draw could not be classed, so it is not used.");
  return {
    evidence: [
      ...drawEvidence(readings, model, idle),
      ...cold.evidence,
      ...tiedEvidence(readings, model),
      ...sagEvidence(sags, readings, model),
      ...(readings.draw === undefined && volts.evidence.length > 0 && sags.length === 0 ? [heldOnEvidence(model)] : []),
      ...volts.evidence,
      ...passedOnEvidence(readings, model),
      ...checks.evidence,
    ],
    notes,
    idle,
  };
}

/** Draws that a board which is not asked for more may have, well or not. */
const WAITING: readonly string[] = ["standby-only", "partly-up", "core-alive", "normal"];

function drawEvidence(readings: DiagnosisReadings, model: DiagnosisModel, idle: IdlePoints): Evidence[] {
  const measurement = model.measurements.find((each) => each.slot.in === "draw");
  const { draw } = readings;
  if (draw === undefined || draw === "cannot-tell" || measurement === undefined) return [];
  // Before its last state of power a good board draws little: such a level says nothing of how far it would come.
  const isWaiting = idle.next !== null && WAITING.includes(draw);
  const weights = DRAWS.map((each) => (each === draw || (isWaiting && WAITING.includes(each)) ? 1 : 0));
  return [
    {
      text: `the draw is "${classInSentence(draw)}"`,
      likelihood: weigh(measurement.chance, weights),
      measurement: measurement.id,
      outcome: draw,
      proof: "draw",
      powered: true,
      seen: weights,
    },
  ];
}

/** Share of boards with a dead short of which somebody reads volts anyway (common practice, no source). */
const READ_IN_LIMIT = 0.2;

/** Volts were read and nobody named a draw: the supply stood, so that a dead short on an input is not likely. */
function heldOnEvidence(model: DiagnosisModel): Evidence {
  const draw = model.measurements.find((each) => each.slot.in === "draw");
  const short = DRAWS.indexOf("dead-short");
  return {
    text: "the board was kept on while its voltages were measured",
    likelihood: model.hypotheses.map((_, index) => 1 - (1 - READ_IN_LIMIT) * (draw?.chance[index]?.[short] ?? 0)),
    measurement: null,
    outcome: "held on",
    proof: "held on",
    powered: true,
    seen: [],
  };
}

function checkEvidence(
  readings: DiagnosisReadings,
  model: DiagnosisModel,
  idle: IdlePoints,
): { evidence: Evidence[]; notes: string[] } {
  const evidence: Evidence[] = [];
  const notes: string[] = [];
  const looks = new Map<string, number[][]>();
  let measurements = model.measurements.filter(({ slot }) => slot.in === "checks");
  for (const [name, answer] of Object.entries(readings.checks)) {
    const measurement = measurements.find((each) => each.slot.point === name);
    if (measurement === undefined) continue;
    const waits = idle.ofSignal(measurement.signal);
    if (waits !== null) {
      notes.push(`${name} cannot be judged: ${waits}.`);
      continue;
    }
    const weights = measurement.outcomes.map((each) => (each === answer ? 1 : 0));
    const earlier = looks.get(measurement.proof) ?? [];
    const chance = measurement.look === null ? measurement.chance : looksAgain(measurement.look, earlier);
    looks.set(measurement.proof, [...earlier, weights]);
    measurements = afterChipLook(measurements, measurement, weights);
    evidence.push({
      text: `${measurement.measure}: ${answer}`,
      likelihood: weigh(chance, weights),
      measurement: measurement.id,
      outcome: answer,
      proof: measurement.proof,
      powered: measurement.energises,
      seen: weights,
    });
  }
  return { evidence, notes };
}
