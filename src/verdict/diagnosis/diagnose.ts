import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { FaultData, ShopCauses } from "../../../shared/files/fault-data.ts";
import type { Diagnosis, DiagnosisReadings } from "../../../shared/record/diagnosis.ts";
import { entropyBits, normalised, updated } from "./belief.ts";
import { afterChipLook } from "./chip-running.ts";
import { doubtfulReadings } from "./doubtful-readings.ts";
import { type Evidence, evidenceOf } from "./evidence.ts";
import { passedOnRails, tooHighRails } from "./evidence-volts.ts";
import { explainNext } from "./explain.ts";
import { faultCandidates } from "./fault-candidates.ts";
import { answerLines, faultGroups } from "./fault-groups.ts";
import { type Bench, type Held, heldBack } from "./held-back.ts";
import type { IdlePoints } from "./idle-points.ts";
import { afterLooks, type Measurement } from "./measurements.ts";
import { type DiagnosisModel, diagnosisModel, withHypotheses } from "./model.ts";
import { nextStateMeasurement } from "./next-state.ts";
import { independentPairs } from "./pair-faults.ts";
import { rankNext } from "./rank-next.ts";
import { rounded } from "./rounded.ts";
import { shortProbability } from "./short-at.ts";
import { studyCaution } from "./study-caution.ts";

const MOST_NEXT = 8;

/** Everything a diagnosis depends on; nothing else may change it. */
export interface DiagnoseInput {
  board: BoardFile;
  readings: DiagnosisReadings;
  data: FaultData;
  /** The shop's confirmed causes; null none. */
  shop: ShopCauses | null;
}

/**
 * The likely faults of a board after these readings, and the next measurements. Pure: readings must have passed
 * `readingProblems`. Method: Bayes over the fault data laid on the board's power tree, each reading independent of the
 * others given the fault, a share of slips mixed into each; next by expected drop of entropy for minutes and risk.
 */
export function diagnose(input: DiagnoseInput): Diagnosis {
  const { readings, data, shop } = input;
  const single = diagnosisModel(input.board, data, shop, passedOnRails(readings, input.board));
  const first = evidenceOf(readings, single);
  const prior = single.hypotheses.map((hypothesis) => hypothesis.prior);
  const believed = beliefAfter(prior, first.evidence);
  const pairs = independentPairs(single.hypotheses, believed, first.evidence, data.independentPair);
  const model = pairs.length === 0 ? single : withHypotheses(single, [...single.hypotheses, ...pairs]);
  const { evidence, notes, idle } = pairs.length === 0 ? first : evidenceOf(readings, model);
  const belief =
    pairs.length === 0 ? believed : beliefAfter(normalised(model.hypotheses.map((each) => each.prior)), evidence);

  const groups = faultGroups(model.hypotheses, belief);
  const short = shortProbability(model.hypotheses, belief);
  const bench = benchAfter(readings, evidence, idle, model);
  const standing = { ...model, measurements: measurementsNow(model, evidence, idle) };
  const held = heldBack(standing, belief, bench);
  const looks = evidence.filter(({ seen }) => seen.length > 0);
  const doubts = doubtfulReadings(belief, looks, answerLines(model.hypotheses));
  const next = rankNext(standing, belief, bench, held, doubts).slice(0, MOST_NEXT);
  return {
    faults: faultCandidates(groups, model, belief, evidence),
    next: next.map(({ measurement, dropBits, opensGate, isDoubted }) => ({
      measure: measurement.measure,
      minutes: measurement.minutes,
      risk: measurement.risk,
      expectedDropBits: rounded(dropBits, 4),
      because: `${explainNext(measurement, dropBits, groups, belief)}${opensGate ? OPENS : ""}${isDoubted ? DOUBTED : ""}`,
      ask: measurement.ask,
      energises: measurement.energises,
      record: {
        in: measurement.slot.in,
        point: measurement.slot.point,
        answers: answersOf(measurement, idle),
      },
    })),
    entropyBits: rounded(entropyBits(belief), 4),
    shortProbability: rounded(short, 6),
    held: held === null ? null : heldSentence(held, data.shortGate),
    notes: [...notes, ...hostNotes(idle, model), ...priorNotes(model, shop)],
    caution: studyCaution(),
  };
}

/** Belief after a list of readings, each independent of the others given the fault. */
export function beliefAfter(prior: readonly number[], evidence: readonly Evidence[]): number[] {
  let belief = [...prior];
  for (const each of evidence) belief = updated(belief, each.likelihood);
  return belief;
}

/** The measurements that can be made now: chances of further looks at a point follow from the first, and the next state of power is one more. */
function measurementsNow(model: DiagnosisModel, evidence: readonly Evidence[], idle: IdlePoints): Measurement[] {
  const looks = new Map<string, (readonly number[])[]>();
  for (const { proof, seen } of evidence) if (seen.length > 0) looks.set(proof, [...(looks.get(proof) ?? []), seen]);
  let measurements: readonly Measurement[] = model.measurements;
  for (const [proof, earlier] of looks) measurements = afterLooks(measurements, proof, earlier);
  for (const { measurement, seen } of evidence) {
    const taken = measurements.find((each) => each.id === measurement);
    if (taken !== undefined && seen.length > 0) measurements = afterChipLook(measurements, taken, seen);
  }
  const state = nextStateMeasurement(idle.next, measurements, model.data);
  return state === null ? [...measurements] : [...measurements, state];
}

const answersOf = ({ slot, outcomes }: Measurement, idle: IdlePoints): string[] | null =>
  slot.in === "checks" ? [...outcomes] : slot.in === "state" && idle.next !== null ? [idle.next.name] : null;

function benchAfter(
  readings: DiagnosisReadings,
  evidence: readonly Evidence[],
  idle: IdlePoints,
  model: DiagnosisModel,
): Bench {
  const taken = new Map(
    evidence.flatMap((each) => (each.measurement === null ? [] : [[each.measurement, each.outcome]])),
  );
  // A power-up begins with a 1 V probe of each feed: its verdict holds what they would say.
  const hasDraw = evidence.some((each) => each.proof === "draw");
  const isHosted = model.traits.has("host");
  const unreachable = new Set(readings.cannotReach.map((each) => each.replace(/^feed:/, "")));
  return {
    taken,
    tooHigh: tooHighRails(readings, model.tree.board),
    hasPowered: evidence.some((each) => each.powered),
    isOutOfReach: (measurement: Measurement) =>
      unreachable.has(measurement.id) ||
      (measurement.slot.point !== null && unreachable.has(measurement.slot.point)) ||
      measurement.points.some((point) => unreachable.has(point)) ||
      // A point that is down on a good board too, and what only a host that is not there could answer.
      (measurement.energises && measurement.points.some((point) => idle.why.has(point))) ||
      idle.ofSignal(measurement.signal) !== null ||
      (measurement.needsHost && isHosted && (idle.host === "none" || idle.host === "pulled-up")) ||
      (hasDraw && (measurement.slot.in === "draw" || measurement.id.startsWith("1 V probe"))),
  };
}

/** Said of a second look at a reading that much hangs on. */
const DOUBTED =
  " It comes first because this one reading decides, and about one reading in thirty is a slip of the probe: take it again before you rely on it.";

/** Said of a measurement that is taken for the sake of what may follow it. */
const OPENS = " It comes first because it may show that the board can be powered, which would tell more.";

function heldSentence(held: Held, gate: number): string {
  const share = (value: number): string => `${Number((value * 100).toPrecision(2))} %`;
  const lead = "No measurement that energises the board is proposed:";
  switch (held.why) {
    case "short":
      return `${lead} a short is ${held.short > 0.1 ? "likely" : "not ruled out"} (probability ${share(held.short)}; it must be at most ${share(gate)}).`;
    case "low":
      return `${lead} ${held.point} reads low. Between short and normal, only low-voltage injection is allowed until two hunts have found nothing.`;
    case "over":
      return `${lead} ${held.point} is far above its nominal voltage. The parts on it would get that voltage again: find the cause with the power off.`;
    case "unread":
      return `${lead} "${held.measurement}" must be measured before the first power-up; the probability of a short is ${share(held.short)}.`;
  }
}

/** The note on questions that need a host, said once. */
function hostNotes({ host }: IdlePoints, { traits }: DiagnosisModel): string[] {
  if (!traits.has("host") || host === "attached" || host === "unknown") return [];
  return ["No host is attached, so nothing is asked that only a host can answer."];
}

function priorNotes(model: DiagnosisModel, shop: ShopCauses | null): string[] {
  const { data } = model;
  const notes = [`Priors: ${data.name}. ${data.source}.`];
  if (shop === null) return notes;
  const here = new Set(model.hypotheses.flatMap((each) => each.faults.map((fault) => fault.row.id)));
  const counted = Object.entries(shop.confirmed).filter(([id, count]) => count > 0 && here.has(id));
  const jobs = counted.reduce((sum, [, count]) => sum + count, 0);
  notes.push(
    `${jobs} confirmed jobs of this shop are counted in; the built-in starting probabilities count as ${data.pseudoCount}${jobs === 0 ? "" : `: ${counted.map(([id, count]) => `${id} ${count}`).join(", ")}`}.`,
  );
  return notes;
}
