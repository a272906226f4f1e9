import type { Command } from "commander";
import { counted } from "../../../shared/words/counted.ts";
import { type JobOptions, jobSubcommand } from "./job-options.ts";

/** `job check`: reads the whole record and says what of it is damaged. */
export function jobCheckCommand(): Command {
  return jobSubcommand("check", "read the whole record and list what is damaged; nothing is changed").action(
    async (options: JobOptions) => {
      const [{ lookingAtRecord }, { print, printDocument, say }, { checkRecord }, { EXIT }] = await Promise.all([
        import("./with-record.ts"),
        import("../text/people.ts"),
        import("../../job/store/check-record.ts"),
        import("../input/exit-code.ts"),
      ]);
      const { problems, ...counts } = await lookingAtRecord(options.data, checkRecord);
      if (options.json) printDocument({ sound: problems.length === 0, ...counts, problems });
      else {
        const { jobs, events, captures, attachments } = counts;
        const read = [
          counted(jobs, "job"),
          counted(events, "event"),
          counted(captures, "capture"),
          counted(attachments, "attachment"),
        ];
        print(`Read: ${read.join(", ")}.`);
        for (const problem of problems) print(`  ${problem}`);
        print(problems.length === 0 ? "Everything is intact." : "The rest is intact.");
      }
      if (problems.length === 0) return;
      say('Damaged parts can be restored from a copy made by "job backup"; "job export" saves the intact jobs.');
      process.exitCode = EXIT.failed;
    },
  );
}
