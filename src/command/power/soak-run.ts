import { sayAmps } from "../../../shared/amounts.ts";
import { type SoakFigures, soakFigures } from "../../verdict/soak-figures.ts";
import { print } from "../text/people.ts";
import { printDraw } from "../text/print-draw.ts";
import { type EndedTask, runTask } from "./task-run.ts";
import type { BenchOptions } from "./with-bench.ts";

export interface SoakOptions extends BenchOptions {
  minutes: number;
}

/** Does one soak from the command line; answers with the exit code. */
export const soak = (options: SoakOptions): Promise<number> =>
  runTask(options, {
    purpose: "soak",
    wish: { watchSeconds: 60 * options.minutes, task: { task: "soak" } },
    more: (ended) => ({ soak: ended === null ? null : figuresOf(ended, options.minutes) }),
    print: (document) => {
      printDraw(document, print);
      if (document.soak !== null) for (const line of linesOf(document.soak)) print(line);
    },
  });

const figuresOf = ({ run }: EndedTask, minutes: number): SoakFigures =>
  soakFigures(run.traces(), { askedSeconds: 60 * minutes });

function linesOf({ askedSeconds, heldSeconds, feeds }: SoakFigures): string[] {
  return [
    `  Held ${Math.round(heldSeconds)} s of ${Math.round(askedSeconds)} s`,
    ...Object.entries(feeds).map(([feed, each]) => {
      if (each === null) return `  ${feed}: too few readings to tell its drift`;
      const share = each.sharePerMin === null ? "" : ` (${(100 * each.sharePerMin).toFixed(2)} % a minute)`;
      return `  ${feed}: from ${sayAmps(each.startAmps)} to ${sayAmps(each.endAmps)}, ${sayAmps(each.driftAmpsPerMin)} a minute${share}`;
    }),
  ];
}
