import { aimsTable, percent } from "./diagnosis-aims.ts";
import { type Figures, figuresOf, type Run, STRATEGIES } from "./diagnosis-figures.ts";
import { CONFIDENCE, MOST_MINUTES } from "./search.ts";

const NAMES = { chosen: "chosen by expected drop", checklist: "fixed checklist", random: "random order" } as const;

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

/** The second study: faults where every rail reads normal, on boards whose likelihoods lie further off; chosen order alone. */
interface SecondStudy {
  weight: number;
  figures: Figures;
}

/** The page of the study: `runs` of all `seeds`, the same number of each, on boards whose likelihoods have this weight. */
export function studyPage(runs: readonly Run[], seeds: readonly number[], weight: number, second: SecondStudy): string {
  const cluster = runs.filter((run) => run.isCluster);
  const shorts = runs.filter((run) => run.isShort);
  const others = runs.filter((run) => !run.isCluster && !run.isShort);
  return `# What to measure next: a study

*For whoever wants to know how soon a fault is found. Next: [How fast it is](speed.md).*

\`npm run study:diagnosis\` writes this page. ${runs.length} faults are drawn from the shipped fault data by their priors and laid on the Kestrel K2
(seeds ${seeds.join(", ")}, ${runs.length / seeds.length} each). Each is searched three times from an empty sheet: by the measurement the fault finder names first, by a
fixed checklist (visual, all cold ohms, pairs, fuses, 1 V probe, power-up, fans, volts along the tree, enables, reset, the host's word, clocks, lanes, firmware, memory, load), and in random order.
All three read the same board, believe by the same rule and are held back from power by the same gate: what differs is the order alone.
A search has reached its fault when the true element and kind come first with at least ${percent(CONFIDENCE)}; it ends after ${MOST_MINUTES / 60} hours or when nothing is left to measure,
and then counts with all it spent.

Each board has its own character: its likelihoods are drawn about those of the fault data, once for the whole board (Dirichlet, weight ${weight}), and its states from them,
once each, so that it is the same board in whatever order it is measured. 3 % of readings are slips to any outcome that the data has for slips, ohms scatter by 5 %
and a contact of 20 mΩ, volts by 0.3 % and 2 mV. Odd readings of healthy points (about one in ten, as the shipped defaults have it) stay half of the time; a healthy
point does not go on reading short. A host is there once the board may be powered. The chosen order alone takes a reading again on which much hangs, and stops where
nothing is left that is worth its minutes: two hours of such measurements would make one bit. The priors are common practice without a source, so the minutes are a
comparison, not a promise.

## The aims

${aimsTable(runs, second.figures)}

Against random order the chosen one takes ${ratio(runs, "random")} of the minutes. The first fault that the chosen order gave ${percent(CONFIDENCE)} or more was given
${percent(figuresOf(runs, "chosen").saidShare)} on average, and was right in ${percent(figuresOf(runs, "chosen").rightShare)} of searches.

## All faults (${runs.length})

${table(runs)}

## Every rail reads normal: F27 to F36 (${cluster.length})

${table(cluster)}

Fans, the firmware chip's select line, the core's amps and the chip's warmth all see one thing: whether the chip runs. They are one proof, and on each board they agree
but for what each shows amiss. Tests that run on the card are asked for once the host lists it. Before power may come on, every point is read, most of them twice, and a point that goes
on reading low is hunted until a short there is out of the question: these minutes are spent for safety.

In a second study the likelihoods of each board lie further off (weight ${second.weight}): of ${second.figures.count} such faults ${percent(second.figures.reachedShare)} are reached, after
${second.figures.meanMinutes.toFixed(1)} minutes on average, and ${percent(second.figures.misledShare)} of the searches are misled.

## Shorts (${shorts.length})

${table(shorts)}

## The rest (${others.length})

${table(others)}

"Misled" is the share of searches in which a wrong fault stood first with at least ${percent(CONFIDENCE)} at some time. "Cause first": the row of the fault data itself led its line, say
a memory chip and not a capacitor on the same shorted rail. Risk is the sum of the steps of risk taken.
`;
}
