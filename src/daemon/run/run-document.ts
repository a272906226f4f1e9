import type { DrawVerdict } from "../../../shared/draw-verdict.ts";
import type { Permit } from "../../../shared/permit.ts";
import type { EndedBy, RunOutcome, Trip } from "../../../shared/plan.ts";
import type { RunHeader } from "../../../shared/record/run-record.ts";
import type { RunVerdict } from "../../../shared/words/nothing-learned.ts";

/** The document that `powerup --json` prints: the verdict, the trip, the state of the output, and the job it is filed with. */
export interface RunDocument extends RunVerdict {
  /** With a class of null: who ended the run. */
  endedBy?: EndedBy;
  trip: Trip | null;
  output: RunOutcome["output"];
  ended: RunOutcome["ended"];
  limitToTry: RunOutcome["limitToTry"];
  job: string | null;
  capture: string | null;
  run: string | null;
  board: string | null;
  permit: Permit;
  warnings: string[];
}

export function runDocument(options: {
  verdict: RunVerdict;
  outcome: RunOutcome;
  header: RunHeader;
  job: string;
  warnings: string[];
}): RunDocument {
  const { verdict, outcome, header } = options;
  return {
    ...verdict,
    ...(outcome.endedBy === undefined ? {} : { endedBy: outcome.endedBy }),
    trip: outcome.trip,
    output: outcome.output,
    ended: outcome.ended,
    limitToTry: outcome.limitToTry,
    job: options.job,
    capture: header.capture,
    run: header.run,
    board: header.board?.name ?? null,
    permit: header.permit,
    warnings: options.warnings,
  };
}

const NOTHING_READ: DrawVerdict["features"] = {
  plateauAmps: null,
  peakAmps: null,
  sampleIntervalMs: null,
  chargeCoulombs: null,
  inputFarads: null,
  shortOhms: null,
  limitedMs: null,
  collapseRatio: null,
  periodMs: null,
  driftAmpsPerMin: null,
  plateaus: null,
};

/** The document of a power-up that never began: nothing was energised, so nothing can be told of the draw. */
export const unpoweredDocument = (options: {
  because: string[];
  ended: RunOutcome["ended"];
  permit: Permit;
  board: string | null;
  warnings: string[];
}): RunDocument => ({
  ...(options.ended === "stopped-by-person"
    ? { class: null, endedBy: "person" as const }
    : { class: "cannot-tell" as const }),
  candidates: [],
  because: ["nothing was energised", ...options.because],
  features: NOTHING_READ,
  energyJoules: 0,
  trip: null,
  output: "off",
  ended: options.ended,
  limitToTry: null,
  job: null,
  capture: null,
  run: null,
  board: options.board,
  permit: options.permit,
  warnings: options.warnings,
});
