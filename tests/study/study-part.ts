import type { DrawClass } from "../../shared/draw-verdict.ts";
import { seededRandom, seedOf } from "../../src/simulator/random.ts";
import { type Calibration, calibrationKey } from "../../src/verdict/calibrate.ts";
import { verdictOnDraw } from "../../src/verdict/draw-verdict.ts";
import { drawMeter, quickPowerUp } from "./quick-power-up.ts";
import { drawBoard, type Mechanism } from "./study-board.ts";
import { canResolve, isCalledHealthy, isRight } from "./study-judge.ts";

/** What is kept of one power-up of the study. */
export interface StudyOutcome {
  mechanism: Mechanism;
  truth: DrawClass;
  class: DrawClass;
  right: boolean;
  resolvable: boolean;
  healthy: boolean;
  intervalMs: number;
  candidates: { class: DrawClass; probability: number; key: string }[];
}

/** Power-up number `index` of a draw: its board, its meter and its noise all follow from the seed. */
export function studyOutcome(seed: number, index: number, calibration?: Calibration): StudyOutcome {
  const random = seededRandom(seedOf(seed, `power-up ${index}`));
  const study = drawBoard(random);
  const meter = drawMeter(random);
  const verdict = verdictOnDraw(quickPowerUp(study, meter, random), calibration);
  const first = verdict.candidates[0]?.class ?? "cannot-tell";
  return {
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
