import { Command } from "commander";
import { jobAttachCommand } from "./job-attach.ts";
import { jobCompareCommand } from "./job-compare.ts";
import { jobExportCommand } from "./job-export.ts";
import { jobImportCommand } from "./job-import.ts";
import { jobListCommand } from "./job-list.ts";
import { jobNewCommand } from "./job-new.ts";
import { jobNoteCommand } from "./job-note.ts";
import { jobReportCommand } from "./job-report.ts";
import { jobResultCommand } from "./job-result.ts";
import { jobShowCommand } from "./job-show.ts";

/** `firstamp job …`: the record. Nothing here touches an instrument. */
export function jobCommand(): Command {
  const command = new Command("job")
    .description("the record: jobs, what was filed with them, reports and archives")
    .addHelpText(
      "after",
      `
A JOB is the id that "job list" shows, or at least four digits that begin or end it.
"list", "show", "export" and "compare" also work while another firstamp has the record open.

Exit codes: 0 done; 1 failed; 2 bad input, nothing changed.`,
    );
  for (const each of [
    jobNewCommand,
    jobListCommand,
    jobShowCommand,
    jobNoteCommand,
    jobResultCommand,
    jobAttachCommand,
    jobExportCommand,
    jobImportCommand,
    jobReportCommand,
    jobCompareCommand,
  ]) {
    command.addCommand(each());
  }
  return command;
}
