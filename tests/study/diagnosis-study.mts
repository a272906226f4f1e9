import { writeFileSync } from "node:fs";
import {
  type Figures,
  figuresOf,
  type Run,
  runRailsNormal,
  runStudy,
  STRATEGIES,
  studyModel,
} from "./diagnosis-figures.ts";
import { CONFIDENCE } from "./search.ts";

const SEEDS = [11, 12, 13, 14];
const COUNT = 525;

const NAMES = { chosen: "chosen by expected drop", checklist: "fixed checklist", random: "random order" } as const;

const percent = (share: number): string => `${(share * 100).toFixed(0)} %`;

function table(runs: readonly Run[]): string {
  const lines = [
    "| order | reached | of these, cause first | minutes, mean | median | measurements | risk | misled | shorts energised |",
    "|---|---|---|---|---|---|---|---|---|",
  ];
  for (const strategy of STRATEGIES) {
    const it: Figures = figuresOf(runs, strategy);
    lines.push(
      `| ${NAMES[strategy]} | ${percent(it.reachedShare)} | ${percent(it.causeShare)} | ${it.meanMinutes.toFixed(1)} | ${it.medianMinutes.toFixed(1)} | ${it.meanMeasurements.toFixed(1)} | ${it.meanRisk.toFixed(1)} | ${percent(it.misledShare)} | ${it.energisedShorts} |`,
    );
  }
  return lines.join("\n");
}

const ratio = (runs: readonly Run[], of: "checklist" | "random"): string =>
  percent(figuresOf(runs, "chosen").meanMinutes / figuresOf(runs, of).meanMinutes);

/** A board of the second study: its own chances, drawn anew with this weight about the data's, and the weight of the first. */
const WEIGHTS = [30, 10];

/** Faults where every rail reads normal, by the chosen order alone: a look at the figures in a minute or two. */
function railsNormalOnly(model: ReturnType<typeof studyModel>, count: number): void {
  for (const weight of WEIGHTS) {
    const found = runRailsNormal({ model, count, seed: SEEDS[0] ?? 1, weight });
    const mean = (value: (search: (typeof found)[number]) => number): number =>
      found.reduce((sum, each) => sum + value(each), 0) / found.length;
    process.stdout.write(
      `weight ${weight}: of ${found.length} reached ${percent(mean((each) => Number(each.reached)))}, mean ${mean((each) => each.minutes).toFixed(1)} minutes, misled ${percent(mean((each) => Number(each.misled)))}\n`,
    );
  }
}

/**
 * Runs the study and writes its page; with "--print" it only prints, with "--rails-normal N" it only looks at N faults
 * where every rail reads normal.
 */
export default function diagnosisStudy(args: readonly string[]): void {
  const model = studyModel();
  const few = args.indexOf("--rails-normal");
  if (few >= 0) return railsNormalOnly(model, Number(args[few + 1] ?? 60));
  const runs: Run[] = [];
  for (const seed of SEEDS) {
    runs.push(...runStudy({ model, count: COUNT, seed }));
    process.stderr.write(`seed ${seed}: ${runs.length} faults\n`);
  }
  const cluster = runs.filter((run) => run.isCluster);
  const shorts = runs.filter((run) => run.isShort);
  const others = runs.filter((run) => !run.isCluster && !run.isShort);
  const text = `# What to measure next: a study

*For whoever wants to know how soon a fault is found. Next: [How fast it is](speed.md).*

\`npm run study:diagnosis\` writes this page. ${runs.length} faults are drawn from the shipped fault data by their priors and laid on the Kestrel K2
(seeds ${SEEDS.join(", ")}, ${COUNT} each). Each is searched three times from an empty sheet: by the measurement the fault finder names first, by a
fixed checklist (visual, all cold ohms, pairs, fuses, 1 V probe, power-up, volts along the tree, enables, reset, clock, lanes, load), and in random order.
All three read the same board, believe by the same rule and are held back from power by the same gate: what differs is the order alone.
A search has reached its fault when the true element and kind come first with at least ${percent(CONFIDENCE)}; it ends after two hours or when nothing is left to measure,
and then counts with all it spent.

Each board has its own character: its chances are drawn about those of the data (Dirichlet, weight 30), its states are drawn once, 3 % of readings are slips to any
outcome that the data has for slips, ohms scatter by 5 % and a contact of 20 mΩ, volts by 0.3 % and 2 mV. Odd readings of healthy points (about one in ten, as the
shipped defaults have it) stay half of the time; a healthy point does not go on reading short. A host is there once the board may be powered. A reading on which much
hangs is taken again, by the chosen order alone. The priors are common practice without a source, so the minutes are a comparison, not a promise.

**Minutes of the chosen order against the checklist: ${ratio(runs, "checklist")} (aim: at most 50 %); against random order: ${ratio(runs, "random")}.**
Shorts energised by the chosen order: ${figuresOf(runs, "chosen").energisedShorts} of ${shorts.length} boards with a short.

## All faults (${runs.length})

${table(runs)}

## Every rail reads normal: F27 to F36 (${cluster.length})

${table(cluster)}

Reset, firmware, clock, lanes, straps, joints, memory and the chip itself are parted by checks that cost most and decide least; a chip without logic is found by
excluding the rest, which seldom reaches ${percent(CONFIDENCE)}.

## Shorts (${shorts.length})

${table(shorts)}

## The rest (${others.length})

${table(others)}

"Misled" is the share of searches in which a wrong fault stood first with at least ${percent(CONFIDENCE)} at some time. "Cause first": the row of the fault data itself led its line, say
a memory chip and not a capacitor on the same shorted rail. Risk is the sum of the steps of risk taken.
`;
  if (args.includes("--print")) {
    process.stdout.write(text);
    return;
  }
  writeFileSync(new URL("../../docs/diagnosis-study.md", import.meta.url), text);
  const share = (of: readonly Run[]): number => Number(figuresOf(of, "chosen").misledShare.toFixed(3));
  const figures = {
    boards: runs.length,
    confidence: CONFIDENCE,
    misledShare: share(runs),
    misledShareRailsNormal: share(cluster),
  };
  writeFileSync(
    new URL("../../src/verdict/diagnosis/study-figures.json", import.meta.url),
    `${JSON.stringify(figures, null, 2)}\n`,
  );
}
