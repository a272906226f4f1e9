import { sayAmps, sayVolts } from "../../../shared/amounts.ts";
import { BenchError } from "../../../shared/bench-error.ts";
import type { MarginStep } from "../../../shared/plan.ts";
import { currentExponentOf } from "../../analysis/current-exponent.ts";
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

/** The watch of a margin run's own power-up, seconds. */
const WATCH_SECONDS = 3;

/** Does one margin run from the command line; answers with the exit code. */
export async function margin(options: MarginOptions): Promise<number> {
  mustEndOff(options, "margin");
  const { feed, steps, rail } = options;
  const told: ToldStep[] = [];
  let watch: RailWatch | null = null;
  return await runTask(options, {
    purpose: "margin",
    wish: {
      watchSeconds: options.watch ?? WATCH_SECONDS,
      task: { task: "margin", ...(feed === undefined ? {} : { feed }), ...(steps === undefined ? {} : { steps }) },
    },
    onOpen: (open) => {
      watch = railWatch(open, rail);
    },
    onNews: (run) => {
      watch?.begin();
      const fresh = (run.outcome.steps ?? []).slice(told.length);
      for (const step of fresh) {
        told.push(watch === null ? step : { ...step, rails: watch.take() });
        if (options.json === true) printDocument({ event: "step", ...told.at(-1) });
        else say(`  ${stepText(told.at(-1) ?? step)}`);
      }
      return fresh.length > 0;
    },
    more: () => ({ steps: told, ...exponentOf(told) }),
    print: (document) => {
      printDraw(document, print);
      for (const step of document.steps) print(`  ${stepText(step)}`);
      const { exponent, exponentStandardU } = document;
      if (exponent === null) print("  No exponent: there were too few steps, or no current.");
      else
        print(
          `  Exponent of current against voltage: ${exponent.toFixed(2)} ± ${(2 * (exponentStandardU ?? 0)).toFixed(2)}, ${meaningOf(exponent)}`,
        );
    },
  });
}

/** Margin runs and injections are never held on. Throws BenchError "bad-input". */
export function mustEndOff({ keepOn }: BenchOptions, what: string): void {
  if (keepOn === true)
    throw new BenchError(
      "bad-input",
      `Cannot keep the output on after ${what}: it always ends with the output off; nothing was touched`,
    );
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

function exponentOf(steps: readonly MarginStep[]): { exponent: number | null; exponentStandardU: number | null } {
  const found = currentExponentOf(
    steps.map(({ volts, amps, standardAmps }) => ({ volts, amps, standardU: standardAmps })),
  );
  return { exponent: found?.exponent ?? null, exponentStandardU: found?.standardU ?? null };
}

const stepText = ({ setVolts, volts, amps, settled, rails = {} }: ToldStep): string =>
  [
    `${sayVolts(setVolts)} set: ${sayVolts(volts)}`,
    sayAmps(amps),
    ...(settled ? [] : ["not settled"]),
    ...Object.entries(rails).map(([name, at]) =>
      at.volts === null
        ? `${name} not read`
        : `${name} ${sayVolts(at.volts)}${at.verdict === "not-measured" ? "" : ` (${at.verdict})`}`,
    ),
  ].join(", ");

function meaningOf(exponent: number): string {
  if (exponent > 0.5) return "like converters that hold their power";
  return exponent < -0.5 ? "like a resistor" : "like a constant current, or a mix of converters and resistors";
}
