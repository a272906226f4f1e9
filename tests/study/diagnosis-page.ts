import { type Figures, figuresOf, type Run, STRATEGIES } from "./diagnosis-figures.ts";
import { CONFIDENCE, MOST_MINUTES } from "./search.ts";

const NAMES = { chosen: "chosen by expected drop", checklist: "fixed checklist", random: "random order" } as const;

export const percent = (share: number): string => `${(share * 100).toFixed(0)} %`;

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

/** The page of the study: `runs` of all `seeds`, the same number of each. */
export function studyPage(runs: readonly Run[], seeds: readonly number[]): string {
  const cluster = runs.filter((run) => run.isCluster);
  const shorts = runs.filter((run) => run.isShort);
  const others = runs.filter((run) => !run.isCluster && !run.isShort);
  return `# What to measure next: a study

*For whoever wants to know how soon a fault is found. Next: [How fast it is](speed.md).*

\`npm run study:diagnosis\` writes this page. ${runs.length} faults are drawn from the shipped fault data by their priors and laid on the Kestrel K2
(seeds ${seeds.join(", ")}, ${runs.length / seeds.length} each). Each is searched three times from an empty sheet: by the measurement the fault finder names first, by a
fixed checklist (visual, all cold ohms, pairs, fuses, 1 V probe, power-up, volts along the tree, enables, reset, clock, lanes, load), and in random order.
All three read the same board, believe by the same rule and are held back from power by the same gate: what differs is the order alone.
A search has reached its fault when the true element and kind come first with at least ${percent(CONFIDENCE)}; it ends after ${MOST_MINUTES / 60} hours or when nothing is left to measure,
and then counts with all it spent.

Each board has its own character: its chances are drawn about those of the data (Dirichlet, weight 30), its states are drawn once, 3 % of readings are slips to any
outcome that the data has for slips, ohms scatter by 5 % and a contact of 20 mΩ, volts by 0.3 % and 2 mV. Odd readings of healthy points (about one in ten, as the
shipped defaults have it) stay half of the time; a healthy point does not go on reading short. A host is there once the board may be powered. A reading on which much
hangs is taken again, by the chosen order alone. The priors are common practice without a source, so the minutes are a comparison, not a promise.

**Minutes of the chosen order against the checklist: ${ratio(runs, "checklist")} (aim: at most 50 %); against random order: ${ratio(runs, "random")}.**
Shorts energised by the chosen order: ${figuresOf(runs, "chosen").energisedShorts} of ${shorts.length} boards with a short. The first fault that it
gave ${percent(CONFIDENCE)} or more was given ${percent(figuresOf(runs, "chosen").saidShare)} on average, and was right in ${percent(figuresOf(runs, "chosen").rightShare)} of searches.

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
}
