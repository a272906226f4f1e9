import type { MeterReading } from "../../shared/meter-reading.ts";
import {
  type SweepCapture,
  type SweepEffect,
  type SweepEvent,
  type SweepHow,
  type SweepPoint,
  type SweepWord,
  withoutReading,
} from "../../shared/sweep.ts";
import { doubtOf } from "./doubt.ts";
import { contactVolts } from "./lifted-level.ts";
import { readInPhase } from "./read-in-phase.ts";
import { NO_TOUCH, type Phase, type SweepState } from "./sweep-state.ts";

/** A step of the machine: where it is now, and what is to be done. Nothing is done here. */
export interface SweepStep {
  state: SweepState;
  effects: SweepEffect[];
}

/** The course of a sweep: its points and limits. */
export interface SweepCourse {
  points: readonly SweepPoint[];
  /** False: nothing reads by itself, values are typed in. */
  hasMeter: boolean;
}

/** The time after which the reading of a probe that was questioned and stays on is taken anyway, milliseconds. */
const SECOND_LOOK_MS = 3000;
const NAME_MS = 2000;

/**
 * The answer of a sweep to an event. Pure: time comes with the events. Words and readings that mean nothing in the
 * phase the sweep is in change nothing.
 */
export function advanceSweep(course: SweepCourse, state: SweepState, event: SweepEvent): SweepStep {
  const stay: SweepStep = { state, effects: [] };
  const { phase } = state.phase;
  if (phase === "over") return stay;
  switch (event.event) {
    case "begin":
      return phase === "idle" ? goOn(course, state, event.atMs) : stay;
    case "pause":
      return phase === "idle" || phase === "paused"
        ? stay
        : { state: { ...state, phase: { phase: "paused" } }, effects: [{ effect: "rest" }] };
    case "resume":
      return phase === "paused" ? goOn(course, { ...state, lifted: null }, event.atMs) : stay;
    case "say":
      // While the board is off nothing is at any point.
      return phase === "idle" || (phase === "paused" && event.word !== "stop")
        ? stay
        : said(course, state, event.word, event.atMs);
    case "typed":
      return phase === "idle" || phase === "paused" ? stay : typed(course, state, event);
    case "tick":
      return named(state, event.atMs);
    case "reading":
      return read(course, state, event.reading);
  }
}

/** To the point at the head of the queue; after the last, the end. */
function goOn(course: SweepCourse, state: SweepState, atMs: number): SweepStep {
  const [index] = state.queue;
  const point = index === undefined ? undefined : course.points[index];
  if (index === undefined || point === undefined) {
    return {
      state: { ...state, phase: { phase: "over" } },
      effects: [{ effect: "next", index: null }, { effect: "rest" }, { effect: "finished", ended: "all-visited" }],
    };
  }
  const phase: Phase = !course.hasMeter
    ? { phase: "place", touch: NO_TOUCH }
    : point.setting.channel === null
      ? { phase: "lift", sinceMs: atMs, air: [], airs: 0, isNamed: false, isHinted: false }
      : { phase: "scan", fromMs: atMs, touch: NO_TOUCH };
  return {
    state: { ...state, phase, settingFromMs: atMs },
    effects: [
      ...(course.hasMeter ? [{ effect: "measure" as const, setting: point.setting }] : []),
      { effect: "next", index },
      ...(phase.phase !== "lift" ? [{ effect: "place-probe" as const, index }] : []),
    ],
  };
}

/** The next point is named after a while although the probe was not seen to lift: the hand may have gone on. */
function named(state: SweepState, atMs: number): SweepStep {
  const { phase } = state;
  const [index] = state.queue;
  if (phase.phase !== "lift" || phase.isNamed || index === undefined || atMs - phase.sinceMs < NAME_MS) {
    return { state, effects: [] };
  }
  return {
    state: { ...state, phase: { ...phase, isNamed: true } },
    effects: [{ effect: "place-probe", index }],
  };
}

function read(course: SweepCourse, state: SweepState, reading: MeterReading): SweepStep {
  const [index] = state.queue;
  const point = index === undefined ? undefined : course.points[index];
  const isForeign =
    index === undefined ||
    point === undefined ||
    reading.function !== point.setting.function ||
    reading.channel !== point.setting.channel ||
    reading.queriedAtMs < state.settingFromMs;
  if (isForeign || reading.kind === "no-reading") return { state, effects: [] };
  const seen = readInPhase({ points: course.points, state, point, index, reading });
  if (seen.taken === null) return { state: seen.state, effects: seen.effects };
  const { state: after, effects } = valueTaken(course, seen.state, seen.taken, reading.atMs);
  return { state: after, effects: [...seen.effects, ...effects] };
}

/** A value is there: it is questioned once where there is reason to, else it is the point's, and the next one follows. */
function valueTaken(
  course: SweepCourse,
  state: SweepState,
  value: Omit<SweepCapture, "index" | "questioned" | "corrects">,
  atMs: number,
): SweepStep {
  const [index] = state.queue;
  const point = index === undefined ? undefined : course.points[index];
  if (index === undefined || point === undefined) return { state, effects: [] };
  const doubt =
    value.how === "contact" && state.first === null ? doubtOf(point, value, course.points, state.last) : null;
  if (doubt !== null) {
    return {
      state: {
        ...state,
        first: { because: doubt.because, value: value.value },
        phase: { phase: "again", untilMs: atMs + SECOND_LOOK_MS, touch: NO_TOUCH, air: [] },
      },
      effects: [{ effect: "question", index, value: value.value, ...doubt }],
    };
  }
  return done(
    course,
    state,
    { ...value, index, questioned: state.first, corrects: state.visited.includes(index) },
    atMs,
  );
}

function done(course: SweepCourse, state: SweepState, capture: SweepCapture, atMs: number): SweepStep {
  const after = goOn(
    course,
    {
      ...state,
      queue: state.queue.slice(1),
      last: capture,
      first: null,
      visited: state.visited.includes(capture.index) ? state.visited : [...state.visited, capture.index],
    },
    atMs,
  );
  return {
    state: withoutLift(course, after.state, capture),
    effects: [{ effect: "captured", capture }, ...after.effects],
  };
}

/** A point that reads as the air does can be left without a trace: there is no lift to wait for. */
function withoutLift(course: SweepCourse, state: SweepState, { index, value, how }: SweepCapture): SweepState {
  const { phase, lifted } = state;
  if (phase.phase !== "lift" || lifted === null) return state;
  const isVolts = course.points[index]?.quantity === "volts";
  const isNothing = value === null ? how === "take" : isVolts && Math.abs(value - lifted.level) <= contactVolts(lifted);
  return isNothing ? { ...state, phase: { ...phase, airs: Number.POSITIVE_INFINITY } } : state;
}

function said(course: SweepCourse, state: SweepState, word: SweepWord, atMs: number): SweepStep {
  const [index] = state.queue;
  switch (word) {
    case "stop":
      return {
        state: { ...state, phase: { phase: "over" } },
        effects: [{ effect: "rest" }, { effect: "finished", ended: "stopped" }],
      };
    case "skip":
    case "cannot-reach":
      if (index === undefined) return { state, effects: [] };
      return done(course, state, passedOver(index, word === "skip" ? "skipped" : "cannot-reach", state), atMs);
    case "take":
      return state.phase.phase === "scan" || index === undefined
        ? { state, effects: [] }
        : { state: { ...state, phase: { phase: "take", fromMs: atMs, touch: NO_TOUCH } }, effects: [] };
    case "redo":
      return redo(course, state, atMs);
  }
}

const passedOver = (index: number, how: SweepHow, state: SweepState): SweepCapture => ({
  ...withoutReading(index, how),
  questioned: state.first,
  corrects: state.visited.includes(index),
});

/** Again, from the air: the point that is being read, where it is, else the last one that has a value. */
function redo(course: SweepCourse, state: SweepState, atMs: number): SweepStep {
  const { phase } = state.phase;
  const isReading = phase === "again" || phase === "take" || state.first !== null;
  if (!isReading && state.last === null) return { state, effects: [] };
  const last = state.last?.index;
  const queue = isReading || last === undefined || last === state.queue[0] ? state.queue : [last, ...state.queue];
  return goOn(course, { ...state, queue, first: null }, atMs);
}

function typed(
  course: SweepCourse,
  state: SweepState,
  { quantity, value, atMs }: Extract<SweepEvent, { event: "typed" }>,
): SweepStep {
  const [index] = state.queue;
  const point = index === undefined ? undefined : course.points[index];
  if (index === undefined || point?.quantity !== quantity) {
    const text = `${quantity} was given; ${point?.rail ?? "this point"} is measured in ${point?.quantity ?? "nothing now"}`;
    return { state, effects: index === undefined ? [] : [{ effect: "hint", index, text }] };
  }
  return done(
    course,
    state,
    { ...passedOver(index, "typed", state), value, overload: value === null, readings: 1 },
    atMs,
  );
}
