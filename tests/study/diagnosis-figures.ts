import { readFileSync } from "node:fs";
import { BoardFile } from "../../shared/files/board-file.ts";
import { seededRandom } from "../../src/simulator/random.ts";
import type { Measurement } from "../../src/verdict/diagnosis/measurements.ts";
import { type DiagnosisModel, diagnosisModel } from "../../src/verdict/diagnosis/model.ts";
import { shippedFaultData } from "../../src/verdict/diagnosis/shipped-fault-data.ts";
import { type Search, type Strategy, search } from "./search.ts";
import { drawTruth, makeTruth, ownMeasurements, type Truth } from "./truth.ts";

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

/** A fault on a board of its own, to be searched as often as wanted: it is the same board each time. */
export interface Drawn {
  /** The hypothesis that is true. */
  faults: string;
  isCluster: boolean;
  isShort: boolean;
  /** The seed of what a search itself leaves to chance. */
  seed: number;
  truth: () => Truth;
}

/** Which faults to draw, and on which boards. */
interface Draw {
  model: DiagnosisModel;
  count: number;
  seed: number;
  /** How near the likelihoods of each board are to the data's: the smaller, the further off. */
  weight: number;
  /** Only faults where every rail reads normal. */
  railsNormal?: boolean;
}

/** `count` faults, drawn by their priors from one seed. */
export function drawFaults({ model, count, seed, weight, railsNormal = false }: Draw): Drawn[] {
  const draws = seededRandom(seed);
  const drawn: Drawn[] = [];
  while (drawn.length < count) {
    const hypothesis = drawTruth(model.hypotheses, draws);
    const found = model.hypotheses[hypothesis];
    const isCluster = found?.faults.some((fault) => CLUSTER.has(fault.row.id)) === true;
    if (railsNormal && !isCluster) continue;
    const index = drawn.length;
    let own: readonly Measurement[] | undefined;
    drawn.push({
      faults: found?.id ?? "none",
      isCluster,
      isShort: found?.isShort === true,
      seed: seed * 7_919 + index * 3,
      truth: () => {
        own ??= ownMeasurements(hypothesis, model, weight, seed * 1_000_003 + index);
        return makeTruth(hypothesis, model, own, seed * 100_003 + index);
      },
    });
  }
  return drawn;
}

/** Each fault searched by every strategy on the same board. */
export function runStudy(draw: Draw): Run[] {
  return drawFaults(draw).map((drawn): Run => {
    const by = (strategy: Strategy, at: number): Search =>
      search(drawn.truth(), draw.model, strategy, seededRandom(drawn.seed + at));
    const { faults, isCluster, isShort } = drawn;
    return {
      faults,
      isCluster,
      isShort,
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
  /** Of the searches in which some fault came first with the confidence asked: what was said on average, and how often it was right. */
  saidShare: number;
  rightShare: number;
}

/** What came of a strategy over a set of runs. Runs that did not get there count with all they spent. */
export const figuresOf = (runs: readonly Run[], strategy: Strategy): Figures =>
  figuresOfSearches(runs.map((run) => run.searches[strategy]));

/** The same of searches. */
export function figuresOfSearches(all: readonly Search[]): Figures {
  const mean = (value: (search: Search) => number): number =>
    all.reduce((sum, each) => sum + value(each), 0) / all.length;
  const sorted = all.map((each) => each.minutes).sort((a, b) => a - b);
  const said = all.flatMap((each) => (each.said === null ? [] : [each.said]));
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
    saidShare: said.reduce((sum, each) => sum + each.share, 0) / Math.max(1, said.length),
    rightShare: said.filter((each) => each.right).length / Math.max(1, said.length),
  };
}
