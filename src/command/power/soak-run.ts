import { soakLines } from "../../daemon/run/task-lines.ts";
import { wishOf } from "../../daemon/run/task-wishes.ts";
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
    wish: wishOf({ task: "soak", minutes: options.minutes }, { keepOn: options.keepOn === true, watchSeconds: null }),
    more: (ended) => ({ soak: ended === null ? null : figuresOf(ended, options.minutes) }),
    print: (document) => {
      printDraw(document, print);
      if (document.soak !== null) for (const line of soakLines(document.soak)) print(`  ${line}`);
    },
  });

const figuresOf = ({ run }: EndedTask, minutes: number): SoakFigures =>
  soakFigures(run.traces(), { askedSeconds: 60 * minutes });
