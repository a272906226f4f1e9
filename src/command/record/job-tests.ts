import { type Command, InvalidArgumentError } from "commander";
import { type JobOptions, jobSubcommand } from "./job-options.ts";

interface TestOptions extends JobOptions {
  file?: string;
  by?: string;
  at: string[];
  hottest?: { where: string; celsius: number };
}

function parseHottest(text: string): { where: string; celsius: number } {
  const [, celsius, where] = /^(-?\d+(?:\.\d+)?)\s*(?:°?C)?@(.+)$/.exec(text.trim()) ?? [];
  if (celsius !== undefined && where !== undefined) return { celsius: Number(celsius), where: where.trim() };
  throw new InvalidArgumentError("It should be degrees Celsius and a place, like 78@core.");
}

/** `job test`: files a test that was done elsewhere. */
export function jobTestCommand(): Command {
  return jobSubcommand("test", "file a test made elsewhere: starts in a host, memory, load, or any other")
    .argument("<job>", "the job")
    .argument("[name]", "what was tested: host-boots, memory, load, or a name of your own")
    .argument("[result]", "pass, fail, done, a count such as 5/5, or how long it ran, such as 40min, 2h or 90s")
    .argument("[text...]", "a remark; several words are joined by spaces")
    .option("--file <file>", "a JSON file written by a script: one test or a list of tests")
    .option("--by <name>", "who made the test")
    .option(
      "--at <address>",
      "memory: an address that failed, repeated for each",
      (text: string, before: string[]) => [...before, text],
      [],
    )
    .option("--hottest <celsius@place>", "load: the hottest spot", parseHottest)
    .addHelpText(
      "after",
      `
Examples:
  firstamp job test 4f2a host-boots 5/5
  firstamp job test 4f2a memory fail --at 0x7f3a0000 --at 0x7f3a4000
  firstamp job test 4f2a load 40min --hottest 78@core no artefacts
  firstamp job test 4f2a --file results.json

A JSON file:  { "tests": [ { "name": "load", "result": "pass", "minutes": 40, "hottest": { "where": "core", "celsius": 78 } } ] }`,
    )
    .action(
      async (
        job: string,
        name: string | undefined,
        result: string | undefined,
        text: string[],
        options: TestOptions,
      ) => {
        const { fileTests } = await import("./file-tests.ts");
        await fileTests(job, { name, result, text }, options);
      },
    );
}
