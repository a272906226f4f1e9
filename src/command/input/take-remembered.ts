import type { Command } from "commander";
import { REMEMBERED_NAMES, type RememberedName } from "./remembered-names.ts";

/** A required file of a command: the option's name, and its flags as help shows them. */
interface NeededFile {
  name: "bench" | "board";
  flags: string;
}

/**
 * Lets a command take what `firstamp use` remembers for options that were not given (a given option always goes first), and
 * say so in its first line. `names` says which of its options; by default every one that it has. `needs` is a file without
 * which the command is refused.
 */
export function takesRemembered(
  command: Command,
  options: { names?: (command: Command) => readonly RememberedName[]; needs?: NeededFile } = {},
): Command {
  const { needs } = options;
  return command
    .option("--fresh", 'take nothing from what "firstamp use" remembers')
    .hook("preAction", async (_, action) => {
      if (action.getOptionValue("fresh") !== true) await fillIn(action, options.names?.(action) ?? REMEMBERED_NAMES);
      if (needs !== undefined && action.getOptionValue(needs.name) === undefined)
        action.error(`error: required option '${needs.flags}' not specified; "firstamp use FILE" sets it once for all`);
    });
}

const bare = (id: string): string => id.replaceAll("-", "").toLowerCase();
/** Whether what a person wrote for a job means this one: it begins or ends its id. */
const isJob = (id: string, asked: string): boolean =>
  bare(id).startsWith(bare(asked)) || bare(id).endsWith(bare(asked));

/** The board file goes with the current job: for another job than that it is not taken. */
async function fillIn(action: Command, names: readonly RememberedName[]): Promise<void> {
  const [{ dataDirectory }, { readRemembered }] = await Promise.all([
    import("./data-directory.ts"),
    import("./remembered-file.ts"),
  ]);
  const remembered = await readRemembered(dataDirectory(action.getOptionValue("data") as string | undefined));
  if (remembered === null) return;
  const asked = action.getOptionValue("job");
  const isOther = typeof asked === "string" && remembered.job !== undefined && !isJob(remembered.job, asked);
  const taken = names.filter(
    (name) =>
      remembered[name] !== undefined &&
      !(isOther && name === "board") &&
      action.options.some((each) => each.attributeName() === name) &&
      action.getOptionValue(name) === undefined,
  );
  if (taken.length === 0) return;
  const [{ rememberedValue }, { say }] = await Promise.all([
    import("./remembered-text.ts"),
    import("../text/people.ts"),
  ]);
  for (const name of taken) action.setOptionValueWithSource(name, remembered[name], "remembered");
  say(`From "firstamp use": ${taken.map((name) => `${name} ${rememberedValue(name, remembered)}`).join(", ")}`);
}
