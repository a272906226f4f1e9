import type { MarginStep } from "../../../shared/plan.ts";
import { type RailAtStep, RailWatch, railsToWatch } from "../../daemon/run/rail-watch.ts";
import { exponentLine, exponentOf, stepText } from "../../daemon/run/task-lines.ts";
import { wishOf } from "../../daemon/run/task-wishes.ts";
import { print, printDocument, say } from "../text/people.ts";
import { printDraw } from "../text/print-draw.ts";
import { runTask } from "./task-run.ts";
import type { BenchOptions, OpenBench } from "./with-bench.ts";

export interface MarginOptions extends BenchOptions {
  feed?: string;
  steps?: number;
  rail?: string;
}

/** A step as it is told: what it settled at, and the rails that were watched. */
type ToldStep = MarginStep & { rails?: Record<string, RailAtStep> };

/** Does one margin run from the command line; answers with the exit code. */
export async function margin(options: MarginOptions): Promise<number> {
  const { feed, steps, rail } = options;
  const told: ToldStep[] = [];
  let watch: RailWatch | null = null;
  return await runTask(options, {
    purpose: "margin",
    wish: wishOf(
      { task: "margin", ...(feed === undefined ? {} : { feed }), ...(steps === undefined ? {} : { steps }) },
      { keepOn: options.keepOn === true, watchSeconds: options.watch ?? null },
    ),
    onOpen: (open) => {
      watch = railWatch(open, rail);
    },
    onNews: (run) => {
      watch?.begin();
      const fresh = (run.outcome.steps ?? []).slice(told.length);
      for (const step of fresh) {
        told.push(watch === null ? step : { ...step, rails: watch.take() });
        if (options.json === true) printDocument({ event: "step", ...told.at(-1) });
        else say(`  ${stepText(step, told.at(-1)?.rails)}`);
      }
      return fresh.length > 0;
    },
    more: () => ({ steps: told, ...exponentOf(told) }),
    print: (document) => {
      printDraw(document, print);
      for (const step of document.steps) print(`  ${stepText(step, step.rails)}`);
      print(`  ${exponentLine(document.steps)}`);
    },
  });
}

function railWatch({ bench, board, client }: OpenBench, rail: string | undefined): RailWatch | null {
  const rails = railsToWatch(bench, board, rail);
  return rails.length === 0 ? null : new RailWatch(client, rails, (sentence) => say(`note: ${sentence}`));
}
