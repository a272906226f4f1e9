import { StageName } from "../../shared/plan.ts";
import { at } from "../analysis/at.ts";
import { medianOf } from "../analysis/quantile.ts";
import type { FeedView } from "./feed-view.ts";
import { phaseRunsFromVolts } from "./phase-runs-from-volts.ts";

export type Phase = "touch" | "hold-low" | "nominal";

/** A stretch of readings [from, to) with the output on, in one phase of a first power-up. */
export interface PhaseRun {
  phase: Phase;
  from: number;
  to: number;
  /** null: not stated, and it cannot be seen. */
  setVolts: number | null;
  limitAmps: number | null;
}

const PHASES: readonly (Phase | null)[] = StageName.options.map((stage) =>
  stage === "touch" || stage === "hold-low" ? stage : stage === "rise" || stage === "watch" ? "nominal" : null,
);

/** The phases of one feed in order: from the stages where the trace names them, else from its volts. */
export function phaseRunsOf(view: FeedView): PhaseRun[] {
  const named = view.trace.stage?.some((stage) => stage !== 255) ?? false;
  const runs = named ? runsByStage(view) : phaseRunsFromVolts(view);
  return runs.flatMap((run) => trimmed(view, run));
}

function runsByStage(view: FeedView): PhaseRun[] {
  const { stage, setVolts } = view.trace;
  if (stage === null) return [];
  const runs: PhaseRun[] = [];
  let open: PhaseRun | null = null;
  for (let i = 0; i < stage.length; i++) {
    const phase = PHASES[at(stage, i)] ?? null;
    const set = setVolts === null ? null : finiteOrNull(at(setVolts, i));
    const limit = finiteOrNull(at(view.limitAmps, i));
    if (phase === null || set === 0) {
      open = null;
      continue;
    }
    const same =
      open !== null &&
      open.phase === phase &&
      (phase === "nominal" || (open.setVolts === set && open.limitAmps === limit));
    if (open !== null && same) {
      open.to = i + 1;
      // The last set-point and limit of a rise are the ones that hold for its watch.
      open.setVolts = set ?? open.setVolts;
      open.limitAmps = limit ?? open.limitAmps;
    } else {
      open = { phase, from: i, to: i + 1, setVolts: set, limitAmps: limit };
      runs.push(open);
    }
  }
  return runs.map((run) =>
    run.phase === "nominal" && run.setVolts === null ? { ...run, setVolts: view.nominalVolts } : run,
  );
}

/** Readings before the output came on and after it went off are no part of a run; a run that never came on is none. */
function trimmed(view: FeedView, run: PhaseRun): PhaseRun[] {
  const { volts, amps, atMs } = view.trace;
  const set = run.setVolts ?? 0.5;
  const idle = (i: number, share: number) => !(at(amps, i) > view.quietAmps) && !(at(volts, i) >= share * set);
  let { from, to } = run;
  // A load discharges the input after off, so no current and a few percent less voltage already show that it is off.
  const loaded = run.phase === "nominal" && medianOf(amps.subarray(from, to)) > 2 * view.quietAmps;
  const offShare = run.phase !== "nominal" ? 0.5 : loaded ? 0.985 : 0.9;
  while (to > from && idle(to - 1, offShare)) to--;
  while (from < to && idle(from, 0.1)) from++;
  if (from >= to) return [];
  // One reading of the output still off belongs to the charge that follows, if it is no older than the others are apart.
  const gap = from > 0 ? at(atMs, from) - at(atMs, from - 1) : Number.POSITIVE_INFINITY;
  if (run.phase === "nominal" && from > run.from && gap <= 3 * (view.intervalMs ?? 0)) from--;
  return [{ ...run, from, to }];
}

const finiteOrNull = (value: number): number | null => (Number.isFinite(value) ? value : null);
