import { writeFileSync } from "node:fs";
import { percent } from "./diagnosis-aims.ts";
import {
  drawFaults,
  figuresOf,
  figuresOfSearches,
  type Run,
  runStudy,
  STRATEGIES,
  studyModel,
} from "./diagnosis-figures.ts";
import { studyPage } from "./diagnosis-page.ts";
import { traceOf } from "./diagnosis-trace.ts";
import { CONFIDENCE } from "./search.ts";

const SEEDS = [11, 12, 13, 14];
const COUNT = 525;

/** Likelihoods of a board are drawn about the data's with this weight, and in the second study with the other. */
const WEIGHT = 30;
const SECOND_WEIGHT = 10;
/** Faults of the second study. */
const SECOND_COUNT = 480;

/** Faults where every rail reads normal, by the chosen order alone: a look at the figures in a minute or two; `isTold`: step by step. */
function railsNormalOnly(model: ReturnType<typeof studyModel>, count: number, isTold: boolean): void {
  for (const weight of isTold ? [WEIGHT] : [WEIGHT, SECOND_WEIGHT]) {
    const drawn = drawFaults({ model, count, seed: SEEDS[0] ?? 1, weight, railsNormal: true });
    const found = drawn.map((each) => {
      const { search, text } = traceOf(each, model);
      if (isTold) process.stdout.write(`${text}\n`);
      return search;
    });
    const it = figuresOfSearches(found);
    process.stdout.write(
      `weight ${weight}: of ${it.count} reached ${percent(it.reachedShare)}, mean ${it.meanMinutes.toFixed(1)} minutes, misled ${percent(it.misledShare)}; said ${percent(it.saidShare)}, right ${percent(it.rightShare)}\n`,
    );
  }
}

/** The figures the fault finder shows beside its probabilities. */
function cautionOf(runs: readonly Run[]): Record<string, number> {
  const share = (of: readonly Run[]): number => Number(figuresOf(of, STRATEGIES[0]).misledShare.toFixed(3));
  return {
    boards: runs.length,
    confidence: CONFIDENCE,
    misledShare: share(runs),
    misledShareRailsNormal: share(runs.filter((run) => run.isCluster)),
  };
}

/**
 * Runs the study and writes its page. "--boards N" only prints the page of about N faults; "--rails-normal N" only looks at N
 * faults where every rail reads normal, by the chosen order, and with "--show" tells each of these searches.
 */
export default function diagnosisStudy(args: readonly string[]): void {
  const model = studyModel();
  const option = (name: string): number | null => (args.includes(name) ? Number(args[args.indexOf(name) + 1]) : null);
  const few = option("--rails-normal");
  if (few !== null) return railsNormalOnly(model, few, args.includes("--show"));
  const boards = option("--boards");
  const runs: Run[] = [];
  for (const seed of SEEDS) {
    runs.push(
      ...runStudy({ model, count: boards === null ? COUNT : Math.ceil(boards / SEEDS.length), seed, weight: WEIGHT }),
    );
    process.stderr.write(`seed ${seed}: ${runs.length} faults\n`);
  }
  const second = SEEDS.flatMap((seed) => {
    const count = Math.ceil((boards ?? SECOND_COUNT) / SEEDS.length);
    return drawFaults({ model, count, seed, weight: SECOND_WEIGHT, railsNormal: true }).map(
      (drawn) => traceOf(drawn, model).search,
    );
  });
  const text = studyPage(runs, SEEDS, WEIGHT, { weight: SECOND_WEIGHT, figures: figuresOfSearches(second) });
  if (boards !== null) {
    process.stdout.write(text);
    return;
  }
  writeFileSync(new URL("../../docs/diagnosis-study.md", import.meta.url), text);
  writeFileSync(
    new URL("../../src/verdict/diagnosis/study-figures.json", import.meta.url),
    `${JSON.stringify(cautionOf(runs), null, 2)}\n`,
  );
}
