import type { DrawClass, DrawVerdict } from "../../shared/draw-verdict.ts";
import { seededRandom, seedOf } from "../../src/simulator/random.ts";
import { type Calibration, calibrationKey } from "../../src/verdict/calibrate.ts";
import { verdictOnDraw } from "../../src/verdict/draw-verdict.ts";
import { drawMeter, quickPowerUp, type StudyMeter } from "./quick-power-up.ts";
import { drawBoard, type Mechanism, type StudyBoard } from "./study-board.ts";
import { canResolve, isCalledHealthy, isRight } from "./study-judge.ts";

/** What is kept of one power-up of the study. */
export interface StudyOutcome {
  /** Its number in the draw: `npm run study -- --show N` tells all of it. */
  index: number;
  mechanism: Mechanism;
  truth: DrawClass;
  class: DrawClass;
  right: boolean;
  resolvable: boolean;
  healthy: boolean;
  intervalMs: number;
  candidates: { class: DrawClass; probability: number; key: string }[];
}

interface StudiedPowerUp {
  study: StudyBoard;
  meter: StudyMeter;
  verdict: DrawVerdict;
}

/** Power-up number `index` of a draw: its board, its meter and its noise all follow from the seed. */
export function studiedPowerUp(seed: number, index: number, calibration?: Calibration): StudiedPowerUp {
  const random = seededRandom(seedOf(seed, `power-up ${index}`));
  const study = drawBoard(random);
  const meter = drawMeter(random);
  return { study, meter, verdict: verdictOnDraw(quickPowerUp(study, meter, random), calibration) };
}

export function studyOutcome(seed: number, index: number, calibration?: Calibration): StudyOutcome {
  const { study, meter, verdict } = studiedPowerUp(seed, index, calibration);
  const first = verdict.candidates[0]?.class ?? "cannot-tell";
  return {
    index,
    mechanism: study.mechanism,
    truth: study.truth,
    class: verdict.class,
    right: isRight(study, verdict),
    resolvable: canResolve(study, meter),
    healthy: isCalledHealthy(study, verdict),
    intervalMs: meter.intervalMs,
    candidates: verdict.candidates.map((each) => ({ ...each, key: calibrationKey(verdict.class, first, each.class) })),
  };
}
