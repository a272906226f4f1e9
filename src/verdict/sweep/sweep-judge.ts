import { sayAmount, sayOhms, sayVolts } from "../../../shared/amounts.ts";
import type { RailVerdictWord, SweepCapture, SweepPoint, SweepRail } from "../../../shared/sweep.ts";
import { railVerdict } from "../rail-verdict.ts";

/** Where neither the bench file nor the driver says how good a meter is (common practice, no source). */
const DEFAULT = { voltsShare: 0.005, volts: 0.005, ohmsShare: 0.01, ohms: 0.1 };
/** Needle probes repeat within this, ohms; four wires do not see it (common practice, no source). */
const CONTACT_OHMS = 0.1;
/** Leads that were not nulled add 0.2 to 0.5 Ω (common practice, no source). */
const LEADS_OHMS = 0.25;

export interface JudgedWith {
  /** What the return lead may drop between the board's ground and where the black probe is, volts. */
  groundDropVolts: number;
}

/**
 * A value judged by its point's limits: ILAC-G8:09/2019, 4.2.3, with the guard band as wide as the expanded uncertainty,
 * which is made of the meter's accuracy, the scatter of the mean, and contacts, leads or the ground's drop.
 */
export function judgeCapture(point: SweepPoint, capture: SweepCapture, withDrop: JudgedWith): SweepRail {
  const base = {
    rail: point.rail,
    quantity: point.quantity,
    limits: [point.low, point.high] as [number | null, number | null],
    how: capture.how,
    polarity: point.polarity,
    readings: capture.readings,
    standardError: capture.standardError,
    moving: capture.moving,
    tookMs: capture.tookMs,
    questioned: capture.questioned,
    corrects: capture.corrects,
    neverPower: null,
  };
  const notes = notesOn(point, capture);
  if (capture.value === null) {
    const { verdict, because } = withoutValue(point, capture);
    return { ...base, ...valueUnder(point, capture), verdict, conformity: null, because: [because, ...notes] };
  }
  const expanded = 2 * uncertaintyOf(point, capture, capture.value, withDrop);
  const { low, high } = point;
  const judged = railVerdict({
    volts: capture.value,
    lowVolts: low ?? Number.NEGATIVE_INFINITY,
    highVolts: high ?? Number.POSITIVE_INFINITY,
    expandedVolts: expanded,
  });
  const isUnknown = low === null && high === null;
  return {
    ...base,
    ...valueUnder(point, capture),
    ...(point.quantity === "ohms" ? { expandedOhms: expanded } : { expandedVolts: expanded }),
    verdict: isUnknown ? "conditional-pass" : whileMoving(judged.verdict, capture, high),
    conformity: isUnknown ? null : judged.conformity,
    because: [sentence(point, capture.value, expanded), ...notes],
  };
}

function uncertaintyOf(
  { quantity, setting }: SweepPoint,
  { halfWidth, standardError, how }: SweepCapture,
  value: number,
  { groundDropVolts }: JudgedWith,
): number {
  const rectangular = (half: number): number => half / Math.sqrt(3);
  const size = Math.abs(value);
  const isOhms = quantity === "ohms";
  const assumed = isOhms ? DEFAULT.ohmsShare * size + DEFAULT.ohms : DEFAULT.voltsShare * size + DEFAULT.volts;
  const isTwoWire = isOhms && setting.function === "ohms";
  return Math.hypot(
    rectangular(halfWidth ?? assumed),
    standardError ?? 0,
    isTwoWire ? rectangular(CONTACT_OHMS) : 0,
    // A person who types a value in has taken the leads off, or says what they read.
    isTwoWire && setting.leadNullOhms === null && how !== "typed" ? rectangular(LEADS_OHMS) : 0,
    quantity === "volts" ? rectangular(groundDropVolts) : 0,
  );
}

/** What still moved when it was taken is no more than conditional; a node that rises is at least what it read. */
function whileMoving(verdict: RailVerdictWord, { moving }: SweepCapture, high: number | null): RailVerdictWord {
  if (moving === "no" || (moving === "rising" && high === null && verdict === "pass")) return verdict;
  if (verdict === "pass") return "conditional-pass";
  return verdict === "fail" && moving === "rising" ? "conditional-fail" : verdict;
}

function withoutValue(
  { rail, quantity, high, low }: SweepPoint,
  { how, overload }: SweepCapture,
): { verdict: RailVerdictWord; because: string } {
  if (!overload) {
    const because = {
      skipped: "skipped",
      "cannot-reach": "out of reach",
      "not-visited": "the sweep ended before it",
    }[how as string];
    return { verdict: "not-measured", because: `${rail} was not measured: ${because ?? "nothing was read"}` };
  }
  if (quantity === "volts") return { verdict: "fail", because: `${rail} is above every range of the meter` };
  if (high !== null) return { verdict: "fail", because: `${rail} reads open` };
  return low !== null
    ? { verdict: "pass", because: `${rail} reads open, as far apart as can be` }
    : { verdict: "conditional-pass", because: `${rail} reads open; what a good board reads is not known` };
}

function valueUnder({ quantity }: SweepPoint, { value, overload }: SweepCapture): Partial<SweepRail> {
  if (quantity === "volts") return { volts: value };
  const shown = overload ? ("open" as const) : value;
  return quantity === "ohms" ? { ohms: shown } : { diodeVolts: shown };
}

function sentence(point: SweepPoint, value: number, expanded: number): string {
  const { rail, quantity, low, high, shortBelow } = point;
  const say = quantity === "ohms" ? sayOhms : sayVolts;
  const reads = `${rail} reads ${sayAmount(value, quantity === "ohms" ? "Ω" : "V", expanded)}`;
  if (low === null && high === null) return `${reads}; what a good board reads is not known`;
  const span =
    high === null ? `at least ${say(low ?? 0)}` : low === null ? `at most ${say(high)}` : `${say(low)} to ${say(high)}`;
  const isShort = quantity === "ohms" && shortBelow !== null && value < shortBelow;
  return `${reads}, ${span} belongs${isShort ? `: a short, under ${say(shortBelow)}` : ""}`;
}

function notesOn(point: SweepPoint, capture: SweepCapture): string[] {
  const { value, halfWidth, moving, questioned, how } = capture;
  const isTwoWire = point.quantity === "ohms" && point.setting.function === "ohms";
  return [
    ...(point.isDefault && point.low !== null ? ["the board file gives no limits: the program's own were taken"] : []),
    ...(value !== null && halfWidth === null ? ["the meter's accuracy is not stated: a usual one was taken"] : []),
    ...(isTwoWire && point.setting.leadNullOhms === null && value !== null && value < 10 && how !== "typed"
      ? ["the leads were not nulled: up to 0.5 Ω of it may be theirs"]
      : []),
    ...(moving === "rising" ? ["taken while it was still rising: the node charges, it is at least this"] : []),
    ...(moving === "unsteady" ? ["taken while it was unsteady"] : []),
    ...(questioned === null ? [] : [`measured again: the first reading was ${questioned.because}`]),
  ];
}
