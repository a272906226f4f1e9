import { type Command, InvalidArgumentError, Option } from "commander";
import type { FilingWishes } from "../../job/filing/file-findings.ts";
import { parsePciAddress } from "../input/pci-address.ts";
import { type JobOptions, jobSubcommand } from "./job-options.ts";

interface AttachOptions extends JobOptions, Pick<FilingWishes, "as" | "port" | "control"> {
  caption?: string;
  board?: string;
  clockAhead?: number;
  name: Record<string, string>;
}

function parseSeconds(text: string): number {
  const seconds = Number(text);
  if (text.trim() !== "" && Math.abs(seconds) <= 10 * 365 * 86_400) return seconds;
  throw new InvalidArgumentError("It should be seconds, negative if the host's clock is behind.");
}

export function parseName(text: string, before: Record<string, string>): Record<string, string> {
  const [, column = "", name = ""] = /^([^=]+)=([^=]+)$/.exec(text) ?? [];
  if (column !== "" && name !== "") return { ...before, [column.trim()]: name.trim() };
  throw new InvalidArgumentError("It should be COLUMN=RAIL, such as CH1=core.");
}

/** `job attach`: keeps files with a job, and files what they show of the board. */
export function jobAttachCommand(): Command {
  return jobSubcommand(
    "attach",
    "store photographs, traces, host looks, firmware dumps or other files with a job, 20 MiB each at most",
  )
    .argument("<job>", "the job")
    .argument("<files...>", "the files; their content tells what each of them is")
    .option("--caption <text>", "what the files show")
    .addOption(
      new Option("--as <kind>", "the kind of the files, if their content does not tell it").choices([
        "host",
        "trace",
        "tests",
        "firmware",
        "plain",
      ]),
    )
    .option("--board <file>", "board file, if no run of the job has one")
    .option(
      "--port <address>",
      "host look: the port the board is in, such as 00:01.0; stored for later looks",
      parsePciAddress,
    )
    .option("--control", "host look: a known good card was in the port")
    .option(
      "--clock-ahead <seconds>",
      "host look: how many seconds the host's clock is ahead of this one",
      parseSeconds,
    )
    .option("--name <column=rail>", "trace: which rail a column is, repeated for each column", parseName, {})
    .addHelpText(
      "after",
      `
A host look (host-look, its --watch, lspci -vvnn -xxxx), a trace of a start, and a firmware dump are also judged, and
the result is filed with the file. The tests of a results file (job test --help) are filed as tests. Nothing is ever written to the board.

Examples:
  firstamp job attach 4f2a look.json --port 00:01.0
  firstamp job attach 4f2a control.json --port 00:01.0 --control
  firstamp job attach 4f2a scope.csv --board kestrel-k2.json --name CH1=core --name CH2=reset
  firstamp job attach 4f2a dump1.bin dump2.bin`,
    )
    .action(async (job: string, files: string[], options: AttachOptions) => {
      const { attachFiles } = await import("./attach-files.ts");
      await attachFiles(job, files, options);
    });
}
