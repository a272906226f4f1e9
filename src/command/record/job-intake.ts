import { type Command, Option } from "commander";
import { BenchError } from "../../../shared/bench-error.ts";
import type { JobEventOf } from "../../../shared/record/job.ts";
import { type JobOptions, jobSubcommand } from "./job-options.ts";

type Intake = Omit<JobEventOf<"intake">, "kind">;
type Words = Exclude<keyof Intake, "liquid" | "dropped" | "repairedBefore">;

/** The questions at intake: the option's words and where the answer goes. */
const WORDS: readonly [option: string, key: Words, description: string][] = [
  ["owner", "owner", "name of the owner"],
  ["words", "ownersWords", "what the owner said, in the owner's words"],
  ["symptom", "symptom", "the symptom"],
  ["since", "since", "when it began"],
  ["tried", "tried", "what was tried before"],
  ["serial", "serialNumber", "serial number of the board"],
  ["came-with", "cameWith", "what came in with the board"],
  ["approved", "approvedUpTo", "what the owner approved, such as a sum"],
];
const YES_OR_NO: readonly [option: string, key: "liquid" | "dropped" | "repairedBefore", description: string][] = [
  ["liquid", "liquid", "whether liquid got onto it"],
  ["dropped", "dropped", "whether it was dropped"],
  ["repaired-before", "repairedBefore", "whether it was repaired before"],
];

const camel = (option: string): string => option.replace(/-(.)/g, (_, letter: string) => letter.toUpperCase());

/** `job intake`: files what the owner said and what came in with the board. */
export function jobIntakeCommand(): Command {
  const command = jobSubcommand("intake", "file what the owner said and what came in with the board").argument(
    "<job>",
    "the job",
  );
  for (const [option, , description] of WORDS) command.option(`--${option} <text>`, description);
  for (const [option, , description] of YES_OR_NO)
    command.addOption(new Option(`--${option} <answer>`, description).choices(["yes", "no"]));
  return command.action(async (job: string, options: JobOptions & Record<string, string | undefined>) => {
    const intake: Intake = {};
    for (const [option, key] of WORDS) {
      const text = options[camel(option)];
      if (text !== undefined) intake[key] = text;
    }
    for (const [option, key] of YES_OR_NO) {
      const answer = options[camel(option)];
      if (answer !== undefined) intake[key] = answer === "yes";
    }
    if (Object.keys(intake).length === 0)
      throw new BenchError(
        "bad-input",
        "Cannot file an intake without a word; --help lists what is asked; nothing was filed",
      );
    const [{ withRecord }, { printDocument, say }] = await Promise.all([
      import("./with-record.ts"),
      import("../text/people.ts"),
    ]);
    const filed = await withRecord(options.data, async (store) => {
      const id = await store.findJob(job);
      const { id: event, seq } = await store.appendEvent(id, { kind: "intake", ...intake });
      return { job: id, event, seq };
    });
    if (options.json === true) printDocument(filed);
    else say(`Filed as entry ${filed.seq}.`);
  });
}
