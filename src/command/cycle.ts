import { Command, type Command as CommandType, InvalidArgumentError } from "commander";
import { DEFAULT_OFF_SECONDS } from "../daemon/run/cycle-starts.ts";
import { parsePciAddress } from "./input/pci-address.ts";
import { withEnergisingOptions } from "./power/board-options.ts";
import type { CycleOptions } from "./power/cycle-run.ts";

const MOST_STARTS = 10_000;
const MOST_SECONDS = 7 * 86_400;
const UNITS: Record<string, number> = { s: 1, min: 60, h: 3600 };

function parseStarts(text: string): number {
  const count = Number(text);
  if (/^\d+$/.test(text) && count >= 1 && count <= MOST_STARTS) return count;
  throw new InvalidArgumentError(`It should be a count from 1 to ${MOST_STARTS}.`);
}

function parseTime(text: string): number {
  const [, time = "", unit = ""] = /^(\d+(?:\.\d+)?)(s|min|h)$/.exec(text) ?? [];
  const seconds = Number(time) * (UNITS[unit] ?? 0);
  if (time !== "" && seconds > 0 && seconds <= MOST_SECONDS) return seconds;
  throw new InvalidArgumentError("It should be a time such as 90s, 30min or 8h, at most a week.");
}

function parseOff(text: string): number {
  const seconds = Number(text);
  if (text.trim() !== "" && seconds >= 1 && seconds <= 86_400) return seconds;
  throw new InvalidArgumentError("It should be seconds, 1 to 86400.");
}

/** `firstamp cycle`: many power-ups, each by the whole staged way, and what they show together. */
export function cycleCommand(): CommandType {
  return withEnergisingOptions(
    new Command("cycle").description("power a board up many times, off in between, and say how reliable its start is"),
  )
    .option("--cold <n>", "number of starts after a long pause", parseStarts)
    .option("--warm <n>", "number of starts after a short pause; they follow the cold ones", parseStarts)
    .option(
      "--for <time>",
      "keep starting it for this long: 8h, 30min; without --cold and --warm, cold and warm starts take turns",
      parseTime,
    )
    .option("--cold-off <seconds>", `off time before a cold start; ${DEFAULT_OFF_SECONDS.cold} by default`, parseOff)
    .option("--warm-off <seconds>", `off time before a warm start; ${DEFAULT_OFF_SECONDS.warm} by default`, parseOff)
    .option(
      "--host-look <file>",
      "a file that the test host writes anew at each look; what it says of each start is filed",
    )
    .option("--port <address>", "with --host-look: the port the board is in, such as 00:01.0", parsePciAddress)
    .addHelpText(
      "after",
      `
Each start goes through every stage and is a separate run in the record. A trip ends the series. When the starts together
exceed the board's longest on-time for this --cooler, the board stays off for four times as long.

--json prints one line per start, then { "event": "done", "clean", "cycles", "failureShareBelow" }. With 95 % confidence, at
most that share of all starts fails (Clopper and Pearson 1934): after 59 clean starts of 59 it is 5 %.

Exit codes: 0 every start was clean; 1 failed or stopped, output off; 2 bad input, nothing touched; 3 the board ended it, or a
start was not clean, output off; 4 the output could not be confirmed off; 5 no instrument answered.`,
    )
    .action(async ({ for: forSeconds, ...options }: CycleOptions & { for?: number }, command: CommandType) => {
      const { cold, warm } = options;
      if (cold === undefined && warm === undefined && forSeconds === undefined)
        command.error("error: give --cold, --warm or --for to say how many starts you want");
      const { cycle } = await import("./power/cycle-run.ts");
      process.exitCode = await cycle({
        ...options,
        ...(cold === undefined && warm === undefined ? { cold: 1, warm: 1 } : {}),
        ...(forSeconds === undefined ? {} : { forSeconds }),
      });
    });
}
