import type { BeginSweep, SweepEffect, SweepEvent, SweepPlan, SweepPoint, SweepSteps } from "../../shared/sweep.ts";
import { advanceSweep, type SweepCourse } from "./advance-sweep.ts";
import { sweepPoints } from "./sweep-points.ts";
import { NOT_BEGUN, type SweepState } from "./sweep-state.ts";

/** The machine with its state: nothing happens but what `take` is told. */
class Sweep implements SweepSteps {
  readonly points: readonly SweepPoint[];
  readonly #course: SweepCourse;
  #state: SweepState;

  constructor(plan: SweepPlan) {
    const points = sweepPoints(plan);
    this.points = points;
    this.#course = { points, hasMeter: plan.hasMeter };
    this.#state = { ...NOT_BEGUN, queue: points.map((_, index) => index) };
  }

  get at(): SweepPoint | null {
    const { phase, queue } = this.#state;
    const [index] = queue;
    return phase.phase === "idle" || phase.phase === "over" || index === undefined
      ? null
      : (this.points[index] ?? null);
  }

  take(event: SweepEvent): SweepEffect[] {
    const { state, effects } = advanceSweep(this.#course, this.#state, event);
    this.#state = state;
    return effects;
  }
}

/** A sweep of all points of a board, before its first event. */
export const beginSweep: BeginSweep = (plan) => new Sweep(plan);
