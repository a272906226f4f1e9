import type { MeterReading } from "../../shared/meter-reading.ts";
import type { SweepCapture, SweepEffect, SweepHow, SweepMotion, SweepPoint } from "../../shared/sweep.ts";
import { chargingEnd, MOST_FARADS } from "../analysis/charging-end.ts";
import { contactVolts, learned } from "./lifted-level.ts";
import { type Sample, spanMs } from "./sample.ts";
import type { Look } from "./steady.ts";
import { NO_TOUCH, type Phase, type SweepState, type Touch } from "./sweep-state.ts";
import { isOpen, isOverloaded, letGo, lookAtRecent, lookAtTouch, touchedBy } from "./touching.ts";

/** A lifted probe must stay in the air this long: a bounce of the hand is shorter. */
const LIFT_MS = 200;
const LIFT_READINGS = 2;
/** Readings in the air, and their duration, before the first contact counts. */
const FIRST_LIFT_MS = 300;
const FIRST_LIFT_READINGS = 6;
/** In the air a meter reads next to nothing; a first reading above this is a probe that lies on something live, volts. */
const AIR_VOLTS = 0.05;
/** So near to the lifted level is in the air, where what was read last was far from it, volts. */
const NEAR_AIR_VOLTS = 0.02;
/** After this long without a lift, the person is asked to lift the probe. */
const ASK_MS = 2000;
/** The longest wait for a person's word; the value is then taken as it is. */
const TAKE_MS = 1500;
/** The same for a node that charges, and for a scanner, whom nobody tells to go on. */
const UNATTENDED_MS = 10_000;
/** Readings of the narrower range may still be on their way for this long. */
const SETTING_MS = 300;
/** After this long on a point that does not come to rest the person is told what they can do. */
const RESTLESS_MS = 4000;

type Value = Omit<SweepCapture, "index" | "questioned" | "corrects">;

export interface ReadStep {
  state: SweepState;
  effects: SweepEffect[];
  taken: Value | null;
}

interface ReadInput {
  points: readonly SweepPoint[];
  state: SweepState;
  point: SweepPoint;
  index: number;
  reading: MeterReading;
}

type InPhase<P extends Phase["phase"]> = ReadInput & { phase: Extract<Phase, { phase: P }> };

/** The meaning of one reading of this point's setting in the sweep's phase. */
export function readInPhase(input: ReadInput): ReadStep {
  const { phase } = input.state;
  if (input.reading.kind === "charged") return charged(input);
  switch (phase.phase) {
    case "lift":
      return waitForLift({ ...input, phase });
    case "place":
      return place({ ...input, phase });
    case "again":
      return again({ ...input, phase });
    case "take":
    case "scan":
      return onIt({ ...input, phase });
    default:
      return { state: input.state, effects: [], taken: null };
  }
}

const sampleOf = (reading: MeterReading): Sample => ({
  atMs: reading.atMs,
  value: reading.value ?? 0,
  halfWidth: reading.halfWidth,
});

/** Whether a reading looks like a probe in the air: near the lifted level in volts, open in ohms and diode mode. */
function isAir({ state, point, reading, points }: ReadInput): boolean {
  if (point.quantity !== "volts") return isOpen(reading, point);
  if (reading.value === null) return false;
  const { lifted, last } = state;
  if (lifted === null) return Math.abs(reading.value) <= AIR_VOLTS;
  const contact = contactVolts(lifted);
  const before = last === null || points[last.index]?.quantity !== "volts" ? null : last.value;
  // Half-way to what was read last belongs to that, so that a weak rail is not taken for the air.
  const near = before === null ? NEAR_AIR_VOLTS : Math.min(NEAR_AIR_VOLTS, Math.abs(before - lifted.level) / 2);
  return Math.abs(reading.value - lifted.level) <= Math.max(contact, near);
}

function waitForLift(input: InPhase<"lift">): ReadStep {
  const { state, phase, point, index, reading } = input;
  const isVolts = point.quantity === "volts";
  const isInAir = isAir(input);
  const air = isInAir ? [...phase.air, sampleOf(reading)] : [];
  const airs = isInAir || phase.airs === Number.POSITIVE_INFINITY ? phase.airs + 1 : 0;
  const knowsAir = !isVolts || state.lifted !== null;
  const isLong =
    spanMs(air) >= (knowsAir ? LIFT_MS : FIRST_LIFT_MS) &&
    air.length >= (knowsAir ? LIFT_READINGS : FIRST_LIFT_READINGS);
  const named: SweepEffect[] = phase.isNamed ? [] : [{ effect: "place-probe", index }];
  if (isLong || airs === Number.POSITIVE_INFINITY) {
    const lifted = isVolts && air.length > 0 ? learned(state.lifted, air, true) : state.lifted;
    return { state: { ...state, lifted, phase: { phase: "place", touch: NO_TOUCH } }, effects: named, taken: null };
  }
  const waitedMs = reading.atMs - phase.sinceMs;
  const isLate = waitedMs >= ASK_MS && !isInAir;
  const hint: SweepEffect[] =
    isLate && !phase.isHinted
      ? [{ effect: "hint", index, text: "lift the probe: it still seems to be on the previous point" }]
      : [];
  return {
    state: {
      ...state,
      phase: { ...phase, air, airs, isHinted: phase.isHinted || isLate },
    },
    effects: [...hint, show(input, isInAir ? "lifted" : "touching")],
    taken: null,
  };
}

/** In the air or not: a contact by the rule, `max(6σ, 5 mV)` from the lifted reading, or no longer open. */
function isContact({ state, point, reading }: ReadInput): boolean {
  if (point.quantity !== "volts") return !isOpen(reading, point);
  if (reading.value === null) return true;
  const { lifted } = state;
  return Math.abs(reading.value - (lifted?.level ?? 0)) > contactVolts(lifted);
}

function place(input: InPhase<"place">): ReadStep {
  const { state, phase, point } = input;
  if (!isContact(input)) {
    const lifted = point.quantity === "volts" ? learned(state.lifted, [sampleOf(input.reading)]) : state.lifted;
    return {
      state: { ...state, lifted, phase: { ...phase, touch: letGo(phase.touch) } },
      effects: [show(input, "lifted")],
      taken: null,
    };
  }
  return inContact(input, phase.touch, "contact", (touch) => ({ ...phase, touch }));
}

/** After a question: what stays on is looked at again after a while, what lifts is waited for. */
function again(input: InPhase<"again">): ReadStep {
  const { state, phase, reading } = input;
  const air = isAir(input) ? [...phase.air, sampleOf(reading)] : [];
  if (spanMs(air) >= LIFT_MS && air.length >= LIFT_READINGS) {
    return {
      state: { ...state, phase: { phase: "place", touch: NO_TOUCH } },
      effects: [show(input, "lifted")],
      taken: null,
    };
  }
  if (air.length > 0)
    return { state: { ...state, phase: { ...phase, air, touch: letGo(phase.touch) } }, effects: [], taken: null };
  const step = inContact(input, phase.touch, "contact", (touch) => ({ ...phase, air, touch }));
  if (step.taken === null || reading.atMs >= phase.untilMs) return step;
  return { ...step, taken: null };
}

/** The person says so, or a scanner is switched there: no contact to be found, only rest. */
function onIt(input: InPhase<"take" | "scan">): ReadStep {
  const { phase, reading } = input;
  if (reading.queriedAtMs < phase.fromMs) return { state: input.state, effects: [], taken: null };
  const how = phase.phase === "take" ? "take" : "scanner";
  const step = inContact(input, phase.touch, how, (touch) => ({ ...phase, touch }));
  if (step.taken !== null) return step;
  const after = step.state.phase;
  const touch = "touch" in after ? after.touch : NO_TOUCH;
  const waitedMs = reading.atMs - phase.fromMs;
  if (waitedMs < (how === "take" ? TAKE_MS : UNATTENDED_MS) || touch.recent.length < 2) return step;
  const look = lookAtRecent(touch, input.point, input.state.lifted?.sigma ?? 0);
  return { ...step, taken: valueTaken(look, touch, { how, atMs: reading.atMs, sinceMs: phase.fromMs }) };
}

/** One more reading on the point: the value, where it has come to rest. */
function inContact(input: ReadInput, before: Touch, how: SweepHow, phaseWith: (touch: Touch) => Phase): ReadStep {
  const { state, point, index, reading } = input;
  const sigma = state.lifted?.sigma ?? 0;
  const touch = touchedBy(before, reading, point, sigma);
  const sinceMs =
    state.phase.phase === "take" || state.phase.phase === "scan" ? state.phase.fromMs : (touch.fromMs ?? reading.atMs);
  if (isOverloaded(touch, reading.atMs)) return overloaded(input, touch, { how, sinceMs, phaseWith });
  const look = lookAtTouch(touch, point, sigma);
  // A node that charges only reads higher from here on: past its low limit it is no short, and nobody need wait for that.
  if (point.quantity === "ohms" && !look.steady && isPastLow(touch, point)) {
    const climb = look.why === "rising" ? look : lookAtRecent(touch, point, sigma);
    const isLong = reading.atMs - sinceMs >= MOST_CLIMB_MS;
    const isClimbing = !climb.steady && climb.why === "rising" && isSmooth(touch.recent);
    if (isClimbing && (isLong || isEndKnown(touch, point, climb)))
      return {
        state: { ...state, phase: phaseWith(touch) },
        effects: [show(input, "rising")],
        taken: valueTaken(climb, touch, { how, atMs: reading.atMs, sinceMs }),
      };
  }
  const effects = [show(input, touch.overloads > 0 ? "moving" : motionOf(look))];
  if (!look.steady) {
    const isRestless = !touch.isHinted && look.why !== "short" && reading.atMs - sinceMs >= RESTLESS_MS;
    if (isRestless)
      effects.push({ effect: "hint", index, text: RESTLESS[look.why === "rising" ? "rising" : "unsteady"] });
    return {
      state: { ...state, phase: phaseWith({ ...touch, isHinted: touch.isHinted || isRestless }) },
      effects,
      taken: null,
    };
  }
  return {
    state: { ...state, phase: phaseWith(touch) },
    effects,
    taken: valueTaken(look, touch, { how, atMs: reading.atMs, sinceMs }),
  };
}

const RESTLESS = {
  rising: 'still rising: a capacitor is charging; wait, or type "take" to file it as still rising',
  unsteady: 'unsteady: hold the probe still, or type "take" to file it as unsteady',
};

/** More than the range holds: a wider range in volts, an open circuit in ohms and diode mode where somebody is on it. */
function overloaded(
  input: ReadInput,
  touch: Touch,
  { how, sinceMs, phaseWith }: { how: SweepHow; sinceMs: number; phaseWith: (touch: Touch) => Phase },
): ReadStep {
  const { state, point, reading } = input;
  if (point.quantity === "volts" && point.wideSetting !== null && !touch.isWide) {
    return {
      state: {
        ...state,
        settingFromMs: reading.atMs + SETTING_MS,
        phase: phaseWith({ ...letGo(touch), isWide: true }),
      },
      effects: [{ effect: "measure", setting: point.wideSetting }],
      taken: null,
    };
  }
  return {
    state: { ...state, phase: phaseWith(touch) },
    effects: [show(input, "steady")],
    taken: {
      how,
      value: null,
      overload: true,
      halfWidth: null,
      standardError: null,
      readings: touch.overloads,
      moving: "no",
      tookMs: reading.atMs - sinceMs,
    },
  };
}

/** Above the low limit by more than the meter may be off. */
function isPastLow({ recent }: Touch, { low }: SweepPoint): boolean {
  const last = recent.at(-1);
  return low !== null && last !== undefined && last.value - (last.halfWidth ?? 0.02 * last.value) > low;
}

/** So long a node that charges is waited for where only its end tells whether it is open (common practice, no source). */
const MOST_CLIMB_MS = 15_000;

/** Whether the end of a rise is known to be within the point's limits, or there is no limit for it. */
function isEndKnown(touch: Touch, { high, mostFarads }: SweepPoint, { rise }: Look): boolean {
  const last = touch.recent.at(-1);
  if (high === null || last === undefined) return true;
  const end = chargingEnd(touch.climb);
  if (end !== null && end.ohms + end.expandedOhms <= high) return true;
  const share = rise === null ? 1 : rise * (mostFarads ?? MOST_FARADS);
  return share < 1 && last.value / (1 - share) <= high;
}

/** Of a whole rise no reading makes more than this: a tip that slips from one point to another does. */
const MOST_OF_RISE = 0.4;

/** Rises from reading to reading, without a jump. */
function isSmooth(samples: readonly Sample[]): boolean {
  const steps = samples.slice(1).map((each, index) => each.value - (samples[index]?.value ?? 0));
  const whole = steps.reduce((sum, each) => sum + each, 0);
  return steps.every((each) => each > 0 && each <= MOST_OF_RISE * whole);
}

function valueTaken(look: Look, touch: Touch, of: { how: SweepHow; atMs: number; sinceMs: number }): Value {
  const rises = !look.steady && look.why === "rising";
  const widths = touch.recent.map((each) => each.halfWidth);
  return {
    how: of.how,
    value: rises ? (touch.recent.at(-1)?.value ?? look.mean) : look.mean,
    overload: false,
    halfWidth: widths.includes(null) ? null : Math.max(...widths.map((each) => each ?? 0)),
    standardError: Number.isFinite(look.standardError) ? look.standardError : null,
    readings: look.readings,
    ...(look.rise === null ? {} : { risePerSecond: look.rise }),
    ...(rises ? endOf(touch) : {}),
    moving: look.steady || look.why === "short" ? "no" : look.why === "rising" ? "rising" : "unsteady",
    tookMs: of.atMs - of.sinceMs,
  };
}

function endOf({ climb }: Touch): Pick<Value, "end"> {
  const end = chargingEnd(climb);
  return end === null ? {} : { end: { value: end.ohms, expanded: end.expandedOhms } };
}

function motionOf(look: Look): SweepMotion {
  if (look.steady) return "steady";
  if (look.why === "short") return "touching";
  return look.why === "rising" ? "rising" : "moving";
}

function charged(input: ReadInput): ReadStep {
  const { state, index, reading } = input;
  const { phase } = state;
  if (!("touch" in phase)) return { state, effects: [show(input, "charged")], taken: null };
  const effects: SweepEffect[] = [show(input, "charged")];
  if (!phase.touch.isHinted) {
    const volts = reading.nodeVolts === null ? "" : ` (${Math.round(Math.abs(reading.nodeVolts) * 1000)} mV on it)`;
    effects.push({
      effect: "hint",
      index,
      text: `discharge it first${volts}: through 10 to 100 Ω, never with a short`,
    });
  }
  return {
    state: { ...state, phase: { ...phase, touch: { ...letGo(phase.touch), isHinted: true } } },
    effects,
    taken: null,
  };
}

const show = ({ index, reading, point }: ReadInput, motion: SweepMotion): SweepEffect => ({
  effect: "show",
  index,
  value: isOpen(reading, point) ? null : reading.value,
  overload: isOpen(reading, point),
  motion,
  nodeVolts: reading.nodeVolts,
});
