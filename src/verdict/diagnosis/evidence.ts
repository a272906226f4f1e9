import { sayVolts } from "../../../shared/amounts.ts";
import type { DiagnosisReadings } from "../../../shared/diagnosis.ts";
import { coldEvidence, tiedEvidence } from "./evidence-cold.ts";
import { seenOnMeter, VOLTS } from "./measurements.ts";
import type { DiagnosisModel } from "./model.ts";
import { DRAWS } from "./predict-draw.ts";
import { predictVolts } from "./predict-volts.ts";
import { voltsState } from "./reading-state.ts";
import { slipped, weigh, wordOf } from "./weigh.ts";

/** One reading, and how likely it is under each hypothesis. */
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
}

const VOLTS_WORDS = ["absent", "too low", "within tolerance", "too high"] as const;

/** Every reading as evidence; what says nothing, and why, is in `notes`. */
export function evidenceOf(
  readings: DiagnosisReadings,
  model: DiagnosisModel,
): { evidence: Evidence[]; notes: string[] } {
  const cold = coldEvidence(readings, model);
  const notes = [...cold.notes];
  if (readings.draw === "cannot-tell") notes.push("The draw could not be told; it counts for nothing here.");
  return {
    evidence: [
      ...drawEvidence(readings, model),
      ...cold.evidence,
      ...tiedEvidence(readings, model),
      ...voltsEvidence(readings, model),
      ...checkEvidence(readings, model),
    ],
    notes,
  };
}

function drawEvidence(readings: DiagnosisReadings, model: DiagnosisModel): Evidence[] {
  const measurement = model.measurements.find((each) => each.slot.in === "draw");
  if (readings.draw === undefined || readings.draw === "cannot-tell" || measurement === undefined) return [];
  const weights = DRAWS.map((each) => (each === readings.draw ? 1 : 0));
  return [
    {
      text: `the draw is ${readings.draw}`,
      likelihood: weigh(measurement.chance, weights),
      measurement: measurement.id,
      outcome: readings.draw,
      proof: "draw",
      powered: true,
    },
  ];
}

function voltsEvidence(readings: DiagnosisReadings, model: DiagnosisModel): Evidence[] {
  const { tree, data } = model;
  const found: Evidence[] = [];
  for (const [point, volts] of [...Object.entries(readings.volts), ...Object.entries(readings.signals)]) {
    const rail = tree.board.rails[point];
    const feed = tree.board.feeds[point];
    const nominal = rail?.volts ?? feed?.nominalVolts;
    if (nominal === undefined) continue;
    const tolerance = rail?.tolerance ?? feed?.tolerance;
    const five = model.hypotheses.map((hypothesis) => predictVolts(hypothesis, point, tree, data, model.roleOf));
    const measurement = model.measurements.find(
      (each) => (each.slot.in === "volts" || each.slot.in === "signals") && each.slot.point === point,
    );
    const base = { measurement: measurement?.id ?? null, proof: `volts ${point}`, powered: true };
    if (volts === "pulsing") {
      const likelihood = five.map((shares) => (1 - data.slip) * (shares[4] ?? 0) + data.slip / 5);
      found.push({ text: `${point} pulses`, likelihood, outcome: "pulsing", ...base });
      continue;
    }
    const weights = voltsState(volts, {
      volts: nominal,
      signal: rail?.signal === true,
      ...(tolerance === undefined ? {} : { tolerance }),
    });
    const seen = five.map((shares) => slipped(seenOnMeter(shares), data.slip));
    const text = `${point} reads ${sayVolts(volts)} where ${sayVolts(nominal)} belongs: ${wordOf(weights, VOLTS_WORDS)}`;
    found.push({ text, likelihood: weigh(seen, weights), outcome: wordOf(weights, VOLTS), ...base });
  }
  return found;
}

function checkEvidence(readings: DiagnosisReadings, model: DiagnosisModel): Evidence[] {
  return Object.entries(readings.checks).flatMap(([name, answer]) => {
    const measurement = model.measurements.find((each) => each.slot.in === "checks" && each.slot.point === name);
    if (measurement === undefined) return [];
    const weights = measurement.outcomes.map((each) => (each === answer ? 1 : 0));
    return [
      {
        text: `${measurement.measure}: ${answer}`,
        likelihood: weigh(measurement.chance, weights),
        measurement: measurement.id,
        outcome: answer,
        proof: measurement.proof,
        powered: measurement.energises,
      },
    ];
  });
}
