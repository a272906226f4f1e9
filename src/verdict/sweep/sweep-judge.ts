import type { RailVerdictWord, SweepCapture, SweepPoint, SweepRail } from "../../../shared/sweep.ts";
import { sayAmount, sayOhms, saySpan } from "../../../shared/words/amounts.ts";
import { MOST_FARADS } from "../../analysis/charging-end.ts";
import { CONTACT_OHMS, USUAL_OHMS_ERROR } from "../../analysis/cold-uncertainty.ts";
import { railVerdict } from "../rail-verdict.ts";

/** The meter's accuracy where neither the bench file nor the driver states it (common practice, no source). */
const DEFAULT = { voltsShare: 0.005, volts: 0.005 };
/** Leads that were not nulled add 0.2 to 0.5 Ω (common practice, no source). */
const LEADS_OHMS = 0.25;

export interface JudgedWith {
  /** The volts that the return lead may drop between the board's ground and the black probe. */
  groundDropVolts: number;
  /** Why the point is down on a good board too, a clause; null or left out where it is not. */
  idle?: string | null;
  /** True for a crystal's pin: its DC volts are a bias, and say nothing of swinging. */
  isBias?: boolean;
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
    ...(point.group === undefined ? {} : { group: point.group }),
  };
  const notes = notesOn(point, capture);
  if (capture.value === null) {
    const { verdict, because } = withoutValue(point, capture);
    return { ...base, ...valueUnder(point, capture), verdict, conformity: null, because: [because, ...notes] };
  }
  const expanded = 2 * uncertaintyOf(point, capture, capture.value, withDrop);
  const { low, high } = point;
  const rising = risingTo(point, capture, capture.value, expanded);
  if (rising !== null)
    return { ...base, ...whileRising(point, capture.value, expanded, rising), because: [rising.says, ...notes] };
  const judged = railVerdict({
    volts: capture.value,
    lowVolts: low ?? Number.NEGATIVE_INFINITY,
    highVolts: high ?? Number.POSITIVE_INFINITY,
    expandedVolts: expanded,
  });
  const isUnknown = low === null && high === null;
  const { idle = null, isBias = false } = withDrop;
  const isIdle = idle !== null && point.quantity === "volts" && low !== null && capture.value < low;
  if (isIdle)
    return {
      ...base,
      ...valueUnder(point, capture),
      expandedVolts: expanded,
      verdict: "not-measured",
      said: "cannot be judged",
      conformity: null,
      because: [
        `${point.rail} reads ${sayAmount(capture.value, "V", expanded)}, which cannot be judged: ${idle}`,
        ...notes,
      ],
    };
  if (isBias && point.quantity === "volts" && judged.verdict === "pass")
    return {
      ...base,
      ...valueUnder(point, capture),
      expandedVolts: expanded,
      verdict: "pass",
      said: "bias present",
      conformity: judged.conformity,
      because: [
        `${sentence(point, capture.value, expanded)}: a bias, which does not prove that it swings; a probe on the pin may stop it`,
        ...notes,
      ],
    };
  return {
    ...base,
    ...valueUnder(point, capture),
    ...(point.quantity === "ohms" ? { expandedOhms: expanded } : { expandedVolts: expanded }),
    ...(isUnknown
      ? { verdict: "conditional-pass" as const, said: "not known" }
      : whileMoving(judged.verdict, capture, high)),
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
  const assumed = isOhms
    ? USUAL_OHMS_ERROR.share * size + USUAL_OHMS_ERROR.ohms
    : DEFAULT.voltsShare * size + DEFAULT.volts;
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

/**
 * The most that rising ohms can come to: a meter's constant current charges C across R, so v = R·(1 − e^(−t/RC)) and its slope
 * gives R = v / (1 − slope·C) (arithmetic), at most with the greatest C. `most` null: no end in sight. Null where the rise is inside
 * the uncertainty.
 */
function risingTo(
  point: SweepPoint,
  { moving, risePerSecond, end: fitted }: SweepCapture,
  value: number,
  expanded: number,
): { least: number; most: number | null; says: string } | null {
  if (point.quantity !== "ohms" || (moving !== "rising" && risePerSecond === undefined)) return null;
  const share = risePerSecond === undefined ? 1 : risePerSecond * (point.mostFarads ?? MOST_FARADS);
  const byFarads = share < 1 ? value / (1 - share) + expanded : null;
  const byFit = fitted === undefined ? null : fitted.value + fitted.expanded + expanded;
  const most = byFarads === null || byFit === null ? (byFarads ?? byFit) : Math.min(byFarads, byFit);
  if (moving !== "rising" && most !== null && most - value < 2 * expanded) return null;
  const { low, high } = point;
  const span = saySpan([low, high], "Ω");
  const belongs = span === null ? "" : `; it should read ${span}`;
  const to = fitted === undefined ? "" : `, as it slows down, to ${sayOhms(fitted.value, fitted.expanded + expanded)}`;
  const end =
    most === null
      ? "still rising, and it is not known how far"
      : `still rising${to || `, to at most ${sayOhms(most)}`}`;
  const least = Math.max(value - expanded, fitted === undefined ? 0 : fitted.value - fitted.expanded - expanded);
  return { least, most, says: `${point.rail} reads at least ${sayOhms(value - expanded)}, ${end}${belongs}` };
}

/**
 * A bound is judged by its ends: past the low limit it is no short, and it passes where its end is known to be within the high one. What is
 * below its low limit while it rises is no fail yet, and what may end anywhere is no pass.
 */
function whileRising(
  { low, high }: SweepPoint,
  value: number,
  expanded: number,
  { least, most }: { least: number; most: number | null },
): Pick<SweepRail, "ohms" | "mostOhms" | "verdict" | "said" | "conformity"> {
  const isHigh = low === null || value - expanded >= low;
  const isUnderTop = high === null || (most !== null && most <= high);
  const isOver = high !== null && least > high;
  // A value that has risen past the high limit only gets further from it.
  if (high !== null && value - expanded > high)
    return { ohms: value, mostOhms: most, verdict: "fail", conformity: null };
  if (isHigh && isUnderTop && low !== null) return { ohms: value, mostOhms: most, verdict: "pass", conformity: null };
  const verdict = isHigh && !isOver ? "conditional-pass" : "conditional-fail";
  return { ohms: value, mostOhms: most, verdict, said: "still rising", conformity: null };
}

/** A value that still moved when it was taken is no more than conditional, and is said to have moved; a node that rises is at least what it read. */
function whileMoving(
  verdict: RailVerdictWord,
  { moving }: SweepCapture,
  high: number | null,
): Pick<SweepRail, "verdict" | "said"> {
  if (moving === "no" || (moving === "rising" && high === null && verdict === "pass")) return { verdict };
  const said = moving === "rising" ? "still rising" : "unsteady";
  if (verdict === "pass") return { verdict: "conditional-pass", said };
  if (verdict === "fail") return moving === "rising" ? { verdict: "conditional-fail", said } : { verdict };
  return { verdict, said };
}

function withoutValue(
  { rail, kind, quantity, high, low }: SweepPoint,
  { how, overload }: SweepCapture,
): { verdict: RailVerdictWord; because: string } {
  if (!overload) {
    const because = {
      skipped: "skipped",
      "cannot-reach": "out of reach",
      "not-visited": "the sweep ended before this point",
    }[how as string];
    return { verdict: "not-measured", because: `${rail} was not measured: ${because ?? "nothing was read"}` };
  }
  if (quantity === "volts") return { verdict: "fail", because: `${rail} is above every range of the meter` };
  if (kind === "grouped") return { verdict: "conditional-pass", because: `${rail} reads open` };
  if (high !== null) return { verdict: "fail", because: `${rail} reads open` };
  return low !== null
    ? { verdict: "pass", because: `${rail} reads open: not connected, as it should be` }
    : { verdict: "conditional-pass", because: `${rail} reads open; what a good board reads is not known` };
}

function valueUnder({ quantity }: SweepPoint, { value, overload }: SweepCapture): Partial<SweepRail> {
  if (quantity === "volts") return { volts: value };
  const shown = overload ? ("open" as const) : value;
  return quantity === "ohms" ? { ohms: shown } : { diodeVolts: shown };
}

function sentence(point: SweepPoint, value: number, expanded: number): string {
  const { rail, quantity, low, high, shortBelow } = point;
  const unit = quantity === "ohms" ? "Ω" : "V";
  const reads = `${rail} reads ${sayAmount(value, unit, expanded)}`;
  if (point.kind === "grouped" || point.kind === "part") return reads;
  const span = saySpan([low, high], unit);
  if (span === null) return `${reads}; what a good board reads is not known`;
  const isShort = quantity === "ohms" && shortBelow !== null && value < shortBelow;
  return `${reads}; it should read ${span}${isShort ? `: a short, below ${sayAmount(shortBelow, unit)}` : ""}`;
}

function notesOn(point: SweepPoint, capture: SweepCapture): string[] {
  const { value, halfWidth, moving, questioned, how } = capture;
  const isTwoWire = point.quantity === "ohms" && point.setting.function === "ohms";
  return [
    ...(point.isDefault && point.low !== null
      ? ["the board file gives no limits, so the program's own were used"]
      : []),
    ...(value !== null && halfWidth === null ? ["the meter's accuracy is not stated, so a usual one was used"] : []),
    ...(isTwoWire && point.setting.leadNullOhms === null && value !== null && value < 10 && how !== "typed"
      ? ["the leads were not nulled: they may add up to 0.5 Ω"]
      : []),
    ...(moving === "rising" && point.quantity !== "ohms"
      ? ["it was taken while still rising, so it is at least this"]
      : []),
    ...(moving === "unsteady" ? ["it was taken while unsteady"] : []),
    ...(questioned === null ? [] : [`measured again; the first reading was ${questioned.because}`]),
  ];
}
