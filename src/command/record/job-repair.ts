import { type Command, InvalidArgumentError } from "commander";
import type { JobEventOf } from "../../../shared/record/job.ts";
import { type JobOptions, jobSubcommand } from "./job-options.ts";

type Part = JobEventOf<"repair">["parts"][number];
const SOURCES: readonly Part["source"][] = ["new", "donor", "reused", "unknown"];

function parsePart(text: string, before: Part[]): Part[] {
  const [, name, place, named] = /^([^@=]+?)(?:@([^=]+))?(?:=(\w+))?$/.exec(text.trim()) ?? [];
  const source = SOURCES.find((each) => each === (named ?? "unknown"));
  if (name === undefined || source === undefined)
    throw new InvalidArgumentError(
      `It should be NAME@PLACE=SOURCE, such as buffer@U9=new; a source is ${SOURCES.join(", ")}.`,
    );
  return [...before, { name, place: place ?? null, source }];
}

/** `job repair`: files what was done to the board. */
export function jobRepairCommand(): Command {
  return jobSubcommand("repair", "file a repair; earlier measurements then no longer describe the board")
    .argument("<job>", "the job")
    .argument("<text...>", "what was done; several words are joined by spaces")
    .option("--part <name@place=source>", "a part that was fitted, repeated for each: buffer@U9=new", parsePart, [])
    .action(async (job: string, text: string[], options: JobOptions & { part: Part[] }) => {
      const [{ withRecord }, { printDocument, say }] = await Promise.all([
        import("./with-record.ts"),
        import("../text/people.ts"),
      ]);
      const filed = await withRecord(options.data, async (store) => {
        const id = await store.findJob(job);
        const repair = { kind: "repair", text: text.join(" "), parts: options.part } as const;
        const { id: event, seq } = await store.appendEvent(id, repair);
        return { job: id, event, seq };
      });
      if (options.json) printDocument(filed);
      else say(`Filed as entry ${filed.seq}.`);
    });
}
