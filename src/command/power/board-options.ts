import { type Command, InvalidArgumentError, Option } from "commander";
import { BenchError, quoted } from "../../../shared/bench-error.ts";
import type { ColdReadings, RunConditions } from "../../../shared/permit.ts";
import { OHMS_EXAMPLES, ohmsIn } from "../../../shared/words/ohms-text.ts";
import { takesRemembered } from "../input/take-remembered.ts";

/** The options of every command that energises, as commander hands them over. */
export interface EnergisingOptions {
  bench: string;
  board?: string;
  plan?: string;
  job?: string;
  data?: string;
  ohms: ColdReadings;
  ohmsFourWire?: string[];
  boardCelsius?: number;
  host?: "none" | "pulled-up" | "attached";
  fans?: "on" | "off";
  cooler?: "bare" | "block" | "cooler";
  checked: Statement[];
  watch?: number;
  waive?: string;
  keepOn?: boolean;
  yes?: boolean;
  verbose?: boolean;
  json?: boolean;
}

const STATEMENTS = ["polarity", "return", "sideband", "unplugged"] as const;
type Statement = (typeof STATEMENTS)[number];

/** `POINT=VALUE` with ohms as a technician writes them: 12.4k, 12k4, 4R7, open. */
export function parseOhms(text: string, before: ColdReadings): ColdReadings {
  const [, point = "", written = ""] = /^([^=\s]+)=(.+)$/.exec(text.trim()) ?? [];
  const ohms = ohmsIn(written);
  if (ohms === null) {
    throw new InvalidArgumentError(
      `${quoted(text)} came; it should be POINT=VALUE, such as aux=12.4k, aux:core=3k1 or aux=open; ohms are written as in ${OHMS_EXAMPLES}.`,
    );
  }
  // Of two readings the worse could be the true one: a person decides, not the order they were typed in.
  const turned = point.split(":").reverse().join(":");
  if (Object.hasOwn(before, point) || Object.hasOwn(before, turned)) {
    throw new InvalidArgumentError(`${point} was given twice; give it once, with the reading that is valid.`);
  }
  return { ...before, [point]: ohms };
}

function parseChecked(text: string): Statement[] {
  return text.split(",").map((each) => {
    const found = STATEMENTS.find((statement) => statement === each.trim());
    if (found === undefined)
      throw new InvalidArgumentError(`${quoted(each)} came; it should be one or more of ${STATEMENTS.join(",")}.`);
    return found;
  });
}

function parseSeconds(text: string): number {
  const seconds = Number(text);
  if (!(seconds >= 1 && seconds <= 600))
    throw new InvalidArgumentError(`${quoted(text)} came; it should be seconds, 1 to 600.`);
  return seconds;
}

function parseCelsius(text: string): number {
  const celsius = Number(text);
  if (text.trim() === "" || !(celsius >= -40 && celsius <= 150))
    throw new InvalidArgumentError(`${quoted(text)} came; it should be degrees Celsius, -40 to 150.`);
  return celsius;
}

/** Adds the options all commands that energise share. */
export function withEnergisingOptions(command: Command): Command {
  return takesRemembered(command, { needs: { name: "bench", flags: "--bench <file>" } })
    .option("--bench <file>", "bench file: the instruments, and the supply channel of each feed")
    .option("--board <file>", "board file; without one the built-in defaults are used")
    .option("--plan <name>", 'plan to run; the only one is "first-power-up"', "first-power-up")
    .option("--job <id>", "file the run with this job; by default a new job is opened")
    .option("--data <dir>", "data directory (else FIRSTAMP_DATA, else the system's usual place)")
    .option(
      "--ohms <point=value>",
      "cold reading taken by hand, repeated for each: aux=12.4k, aux:core=3.1k, aux=open",
      parseOhms,
      {},
    )
    .option(
      "--ohms-four-wire <points>",
      "points of --ohms that were measured with four wires, or as millivolts at 1 A (40 mV means 0.04 Ω): core,soc",
      (text: string) => text.split(",").map((each) => each.trim()),
    )
    .option(
      "--board-celsius <degrees>",
      "temperature of the board now; cold readings taken at another temperature no longer count",
      parseCelsius,
    )
    .addOption(
      new Option(
        "--host <state>",
        "whether a host is attached; pulled-up: no host, and a resistor releases reset",
      ).choices(["none", "pulled-up", "attached"]),
    )
    .addOption(new Option("--fans <state>", "whether fans are connected").choices(["on", "off"]))
    .addOption(
      new Option("--cooler <kind>", "what cools the chip; bare is assumed if not stated").choices([
        "bare",
        "block",
        "cooler",
      ]),
    )
    .option(
      "--checked <list>",
      "what you have checked: polarity (at the card end of the leads), return (all returns joined; their drop under load shows 20 mΩ at most), sideband (sense pins strapped), unplugged (nothing else connected)",
      parseChecked,
      [],
    )
    .option(
      "--watch <seconds>",
      "how long to watch at nominal, 1 to 600; 15 by default; below 5 slow patterns are not looked for",
      parseSeconds,
    )
    .option(
      "--waive <reason>",
      "go on without the permit conditions that were not checked, for this reason; each is listed in the record; never covers a measured fault",
    )
    .option("--keep-on", "stay on under watch until Ctrl-C, SIGTERM or the longest on-time")
    .option("--verbose", "also say which drivers are used and how fast the instruments answer")
    .option("--yes", "do not ask before energising; the cautions are still shown")
    .option("--json", "print one JSON document on standard output; do not ask");
}

const stated = (checked: readonly Statement[], which: Statement): boolean | null =>
  checked.includes(which) ? true : null;

export const conditionsOf = (options: EnergisingOptions): RunConditions => ({
  host: options.host ?? "unknown",
  fans: options.fans ?? "unknown",
  cooler: options.cooler ?? "unknown",
  polarityChecked: stated(options.checked, "polarity"),
  commonReturn: stated(options.checked, "return"),
  sidebandStrapped: stated(options.checked, "sideband"),
  pairsUnplugged: stated(options.checked, "unplugged"),
});

/** Refuses a plan there is none of; the sentence names those there are. */
export function checkPlanName(name: string | undefined): void {
  if (name !== undefined && name !== "first-power-up") {
    throw new BenchError(
      "bad-input",
      `Cannot run the plan ${quoted(name)}: the only plan is "first-power-up"; nothing was touched`,
    );
  }
}
