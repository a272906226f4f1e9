import { at } from "../analysis/at.ts";
import { limitedReadings } from "../analysis/limiting.ts";
import { medianOf, quantileOf } from "../analysis/quantile.ts";
import { ampsUncertainty, voltsUncertainty } from "../analysis/reading-uncertainty.ts";
import { leadsOf, shortResistanceOf } from "../analysis/short-resistance.ts";
import type { FeedView } from "./feed-view.ts";
import type { PhaseRun } from "./phase-runs.ts";

/** The values that a touch or hold-low showed once it had settled. */
export interface Look {
  phase: PhaseRun["phase"];
  setVolts: number | null;
  limitAmps: number | null;
  volts: number;
  amps: number;
  /** Whether the limit held the current; unknown where neither mode nor set-point is. */
  limited: boolean | "unknown";
  /** False while a capacitor was still charging. */
  settled: boolean;
  /** Current above what the meter's steps and accuracy can make of nothing. */
  conducts: boolean;
  ohms: number;
  expandedOhms: number;
  readings: number;
}

/**
 * A slow meter with a filter may have only three readings, of which the first is the filter's: the last two are taken where their
 * difference, falling as it did, leaves under a fiftieth of the volts to go.
 */
function settledFrom(volts: Float64Array, to: number, from: number): number {
  if (to - from !== 3) return from;
  const [first, second, third] = [at(volts, from), at(volts, from + 1), at(volts, from + 2)];
  const [earlier, later] = [second - first, third - second];
  const toGo = earlier > later && later > 0 ? (later * later) / (earlier - later) : later;
  return earlier > 0 && later < earlier / 2 && toGo < 0.02 * Math.abs(third) ? from + 1 : from;
}

/** The settled end of a run: medians over its last third, at least three readings where there are that many. */
export function lookOf(view: FeedView, run: PhaseRun): Look {
  const { trace } = view;
  const n = run.to - run.from;
  const tail = settledFrom(trace.volts, run.to, Math.max(run.from, run.to - Math.max(3, Math.ceil(n / 3))));
  const [tailVolts, tailAmps] = [trace.volts.subarray(tail, run.to), trace.amps.subarray(tail, run.to)];
  const [volts, amps] = [medianOf(tailVolts), medianOf(tailAmps)];
  const last = at(trace.volts, run.to - 1);
  const flags = limitedReadings({
    atMs: trace.atMs.subarray(tail, run.to),
    volts: tailVolts,
    amps: tailAmps,
    mode: trace.mode?.subarray(tail, run.to) ?? null,
    limitAmps: view.limitAmps.subarray(tail, run.to),
    setVolts: run.setVolts === null ? null : new Float64Array(run.to - tail).fill(run.setVolts),
    stepAmps: view.stepAmps,
  });
  const counted = [0, 0, 0];
  for (const flag of flags) counted[flag] = at(counted, flag) + 1;
  const [free, held, unknown] = [at(counted, 0), at(counted, 1), at(counted, 2)];
  const atLimit = amps >= 0.98 * (run.limitAmps ?? Number.POSITIVE_INFINITY) - 2 * view.stepAmps;
  const ampsU = ampsUncertainty(amps, trace.accuracy, view.stepAmps);
  const voltsU = voltsUncertainty(volts, trace.accuracy, view.stepVolts);
  const resistance = shortResistanceOf({ volts, amps, ...leadsOf(trace), voltsU, ampsU });
  const limitedOf = (): Look["limited"] => {
    if (held > 0 && held >= free) return true;
    const said = trace.mode?.subarray(tail, run.to).some((mode) => mode !== 0) ?? false;
    if (run.setVolts === null && !said) return atLimit ? true : "unknown";
    return unknown > free ? "unknown" : false;
  };
  const climb = last - quantileOf(tailVolts, 0);
  return {
    phase: run.phase,
    setVolts: run.setVolts,
    limitAmps: run.limitAmps,
    volts,
    amps,
    limited: limitedOf(),
    settled: !(climb > Math.max(0.05 * Math.abs(last), 3 * view.stepVolts, 0.01)),
    conducts: amps > Math.max(3 * view.stepAmps, 3 * ampsU),
    ...resistance,
    readings: n,
  };
}
