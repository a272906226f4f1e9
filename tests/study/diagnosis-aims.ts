import { type Figures, figuresOf, type Run } from "./diagnosis-figures.ts";

export const percent = (share: number): string => `${(share * 100).toFixed(0)} %`;

/** The aims of the study, what was found, and how far off it is where an aim is missed, as a table. */
export function aimsTable(runs: readonly Run[], second: Figures): string {
  const all = figuresOf(runs, "chosen");
  const normal = figuresOf(
    runs.filter((run) => run.isCluster),
    "chosen",
  );
  const ofChecklist = all.meanMinutes / figuresOf(runs, "checklist").meanMinutes;
  const shares = (name: string, found: number, aim: number, isAtMost: boolean): string => {
    const off = isAtMost ? found - aim : aim - found;
    return `| ${name} | ${isAtMost ? "at most" : "at least"} ${percent(aim)} | ${percent(found)} | ${off <= 0 ? "met" : `missed by ${(100 * off).toFixed(0)} points`} |`;
  };
  const lost = normal.reachedShare - second.reachedShare;
  return [
    "| aim | | found | |",
    "|---|---|---|---|",
    shares("all faults: misled", all.misledShare, 0.1, true),
    `| shorts energised | none | ${all.energisedShorts} | ${all.energisedShorts === 0 ? "met" : "missed"} |`,
    shares("minutes, as a share of the checklist's", ofChecklist, 0.5, true),
    shares("every rail normal: reached", normal.reachedShare, 0.75, false),
    `| every rail normal: minutes, mean | at most 45 | ${normal.meanMinutes.toFixed(1)} | ${normal.meanMinutes <= 45 ? "met" : `missed by ${(normal.meanMinutes - 45).toFixed(1)} minutes`} |`,
    shares("every rail normal: misled", normal.misledShare, 0.1, true),
    `| every rail normal, likelihoods further off: reached less often by | at most 10 points | ${(100 * lost).toFixed(0)} points | ${lost <= 0.1 ? "met" : "missed"} |`,
  ].join("\n");
}
