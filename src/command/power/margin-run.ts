import { sayVolts } from "../../../shared/amounts.ts";
import { BenchError } from "../../../shared/bench-error.ts";
import type { MarginStep } from "../../../shared/plan.ts";
import { exponentLine, exponentOf, stepText } from "../../daemon/run/task-lines.ts";
import { wishOf } from "../../daemon/run/task-wishes.ts";
import { print, printDocument, say } from "../text/people.ts";
import { printDraw } from "../text/print-draw.ts";
import { type RailAtStep, RailWatch } from "./rail-watch.ts";
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
        else say(`  ${toldText(told.at(-1) ?? step)}`);
      }
      return fresh.length > 0;
    },
    more: () => ({ steps: told, ...exponentOf(told) }),
    print: (document) => {
      printDraw(document, print);
      for (const step of document.steps) print(`  ${toldText(step)}`);
      print(`  ${exponentLine(document.steps)}`);
    },
  });
}

/** The rail that was named, under the probe; without one, every rail the scanner is wired to; null where neither is there. */
function railWatch({ bench, board, client }: OpenBench, rail: string | undefined): RailWatch | null {
  const known = board?.rails ?? null;
  const scanner = bench.meter === undefined ? undefined : bench.instruments[bench.meter]?.scanner;
  if (rail === undefined) {
    const wired = Object.entries(known ?? {}).flatMap(([name, entry]) =>
      scanner !== undefined && Object.hasOwn(scanner, name) ? [{ name, channel: scanner[name] ?? null, entry }] : [],
    );
    return wired.length === 0 ? null : new RailWatch(client, wired);
  }
  if (known !== null && !Object.hasOwn(known, rail)) {
    throw new BenchError(
      "bad-input",
      `Cannot watch ${JSON.stringify(rail)}: it is not a rail of ${board?.name}, whose rails are ${Object.keys(known).join(", ")}; nothing was touched`,
    );
  }
  if (bench.meter === undefined)
    throw new BenchError("bad-input", "Cannot watch a rail: the bench file names no meter; nothing was touched");
  return new RailWatch(client, [{ name: rail, channel: null, entry: known?.[rail] ?? null }]);
}

const toldText = ({ rails = {}, ...step }: ToldStep): string =>
  [
    stepText(step),
    ...Object.entries(rails).map(([name, at]) =>
      at.volts === null
        ? `${name} not read`
        : `${name} ${sayVolts(at.volts)}${at.verdict === "not-measured" ? "" : ` (${at.verdict})`}`,
    ),
  ].join(", ");
