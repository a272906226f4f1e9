import { Command } from "commander";
import { jobAttachCommand } from "./record/job-attach.ts";
import { jobBackupCommand } from "./record/job-backup.ts";
import { jobCheckCommand } from "./record/job-check.ts";
import { jobCompareCommand } from "./record/job-compare.ts";
import { jobCorrectCommand } from "./record/job-correct.ts";
import { jobExportCommand } from "./record/job-export.ts";
import { jobImportCommand } from "./record/job-import.ts";
import { jobIntakeCommand } from "./record/job-intake.ts";
import { jobListCommand } from "./record/job-list.ts";
import { jobNewCommand } from "./record/job-new.ts";
import { jobNoteCommand } from "./record/job-note.ts";
import { jobRepairCommand } from "./record/job-repair.ts";
import { jobReportCommand } from "./record/job-report.ts";
import { jobRestoreCommand } from "./record/job-restore.ts";
import { jobResultCommand } from "./record/job-result.ts";
import { jobShowCommand } from "./record/job-show.ts";
import { jobSimilarCommand } from "./record/job-similar.ts";
import { jobStageCommand } from "./record/job-stage.ts";
import { jobTablesCommand } from "./record/job-tables.ts";
import { jobTestCommand } from "./record/job-tests.ts";

/** `firstamp job …`: the record. Nothing here touches an instrument. */
export function jobCommand(): Command {
  const command = new Command("job")
    .description("the record: jobs, what is filed with them, reports and archives")
    .addHelpText(
      "after",
      `
JOB stands for the id that "job list" shows, or for at least its first or last four digits.
"list", "show", "similar", "export", "tables", "compare", "check" and "backup" also work while another firstamp has the record open.

Exit codes: 0 done; 1 failed; 2 bad input, nothing changed.`,
    );
  for (const each of [
    jobNewCommand,
    jobIntakeCommand,
    jobStageCommand,
    jobSimilarCommand,
    jobListCommand,
    jobShowCommand,
    jobNoteCommand,
    jobCorrectCommand,
    jobRepairCommand,
    jobResultCommand,
    jobTestCommand,
    jobAttachCommand,
    jobExportCommand,
    jobImportCommand,
    jobReportCommand,
    jobCompareCommand,
    jobCheckCommand,
    jobBackupCommand,
    jobRestoreCommand,
    jobTablesCommand,
  ]) {
    command.addCommand(each());
  }
  return command;
}
