import { readFileSync } from "node:fs";
import { BoardFile } from "../../shared/board-file.ts";
import { seededRandom } from "../../src/simulator/random.ts";
import { type DiagnosisModel, diagnosisModel } from "../../src/verdict/diagnosis/model.ts";
import { shippedFaultData } from "../../src/verdict/diagnosis/shipped-fault-data.ts";
import { type Search, type Strategy, search } from "./search.ts";
import { drawTruth, makeTruth } from "./truth.ts";

export const STRATEGIES = ["chosen", "checklist", "random"] as const satisfies readonly Strategy[];

/** Faults where every rail reads normal: the draw and the rails alone cannot part them. */
const CLUSTER = new Set(["F27", "F28", "F29", "F30", "F31", "F32", "F33", "F34", "F35", "F36"]);

export interface Run {
  faults: string;
  isCluster: boolean;
  isShort: boolean;
  searches: Record<Strategy, Search>;
}

export function studyModel(): DiagnosisModel {
  const file = new URL("../../scenarios/boards/kestrel-k2.json", import.meta.url);
  return diagnosisModel(BoardFile.parse(JSON.parse(readFileSync(file, "utf8"))), shippedFaultData(), null);
}

/** As `runStudy`, but by the chosen order alone and of faults where every rail reads normal, with boards whose chances lie so far from the data's. */
export function runRailsNormal(options: {
  model: DiagnosisModel;
  count: number;
  seed: number;
  weight: number;
}): Search[] {
  const { model, count, seed, weight } = options;
  const draws = seededRandom(seed);
  const found: Search[] = [];
  while (found.length < count) {
    const hypothesis = drawTruth(model.hypotheses, draws);
    if (model.hypotheses[hypothesis]?.faults.some((fault) => CLUSTER.has(fault.row.id)) !== true) continue;
    const truth = makeTruth(hypothesis, model, seededRandom(seed * 100_003 + found.length), weight);
    found.push(search(truth, model, "chosen", seededRandom(seed * 7_919 + found.length * 3)));
  }
  return found;
}

/** `count` faults from one seed, each searched by every strategy on a board of the same character. */
export function runStudy(options: { model: DiagnosisModel; count: number; seed: number }): Run[] {
  const { model, count, seed } = options;
  const draws = seededRandom(seed);
  return Array.from({ length: count }, (_, index): Run => {
    const hypothesis = drawTruth(model.hypotheses, draws);
    const by = (strategy: Strategy, at: number): Search => {
      const truth = makeTruth(hypothesis, model, seededRandom(seed * 100_003 + index));
      return search(truth, model, strategy, seededRandom(seed * 7_919 + index * 3 + at));
    };
    const found = model.hypotheses[hypothesis];
    return {
      faults: found?.id ?? "none",
      isCluster: found?.faults.some((fault) => CLUSTER.has(fault.row.id)) === true,
      isShort: found?.isShort === true,
      searches: { chosen: by("chosen", 0), checklist: by("checklist", 1), random: by("random", 2) },
    };
  });
}

export interface Figures {
  count: number;
  reachedShare: number;
  causeShare: number;
  meanMinutes: number;
  medianMinutes: number;
  meanMeasurements: number;
  meanRisk: number;
  misledShare: number;
  energisedShorts: number;
}

/** What came of a strategy over a set of runs. Runs that did not get there count with all they spent. */
export function figuresOf(runs: readonly Run[], strategy: Strategy): Figures {
  const all = runs.map((run) => run.searches[strategy]);
  const mean = (value: (search: Search) => number): number =>
    all.reduce((sum, each) => sum + value(each), 0) / all.length;
  const sorted = all.map((each) => each.minutes).sort((a, b) => a - b);
  const reached = all.filter((each) => each.reached);
  return {
    count: all.length,
    reachedShare: reached.length / all.length,
    causeShare: reached.filter((each) => each.isCauseFirst).length / Math.max(1, reached.length),
    meanMinutes: mean((each) => each.minutes),
    medianMinutes: sorted[Math.floor(sorted.length / 2)] ?? 0,
    meanMeasurements: mean((each) => each.measurements),
    meanRisk: mean((each) => each.risk),
    misledShare: mean((each) => Number(each.misled)),
    energisedShorts: all.filter((each) => each.energisedShort).length,
  };
}
