import { Command, InvalidArgumentError, Option } from "commander";
import { quoted } from "../../shared/bench-error.ts";
import { REMEMBERED_NAMES, type RememberedName } from "./input/remembered-names.ts";
import type { UseOptions } from "./record/use-run.ts";

/** `firstamp use`: sets once what lies on the bench, for every later command. */
export function useCommand(): Command {
  return new Command("use")
    .description(
      "set bench, board, host, fans, cooler and current job once for all commands; without arguments: show them",
    )
    .argument("[files...]", "bench file, board file, or both; their content tells which is which")
    .addOption(new Option("--host <state>", "whether a host is attached").choices(["none", "attached"]))
    .addOption(new Option("--fans <state>", "whether fans are connected").choices(["on", "off"]))
    .addOption(new Option("--cooler <kind>", "what cools the chip").choices(["bare", "block", "cooler"]))
    .option("--job <id>", "the current job")
    .option("--forget <names>", `what to forget: all, or some of ${REMEMBERED_NAMES.join(",")}`, parseForget)
    .option("--data <dir>", "data directory (else FIRSTAMP_DATA, else the system's usual place)")
    .option("--json", "print one JSON document")
    .addHelpText(
      "after",
      `
It is kept in use.json of the data directory. A command takes it for an option that is not given, and says so in its first
line; a given option always goes first, and --fresh takes nothing. What is measured or checked (--ohms, --checked, --waive) is
never remembered.

Examples:
  firstamp use bench.json kestrel-k2.json --host none --fans off --cooler block
  firstamp use --job 4f2a
  firstamp use --forget job,board

Exit codes: 0 done; 2 bad input, nothing changed.`,
    )
    .action(async (files: string[], options: UseOptions) => {
      const { use } = await import("./record/use-run.ts");
      await use(files, options);
    });
}

function parseForget(text: string): RememberedName[] {
  if (text.trim() === "all") return [...REMEMBERED_NAMES];
  return text.split(",").map((each) => {
    const found = REMEMBERED_NAMES.find((name) => name === each.trim());
    if (found === undefined)
      throw new InvalidArgumentError(
        `${quoted(each)} came; it should be all, or some of ${REMEMBERED_NAMES.join(",")}.`,
      );
    return found;
  });
}
