import { writeFile } from "node:fs/promises";
import { JsonReporter } from "vitest/node";

/**
 * A reporter of vitest that leaves its whole report as JSON in the file FIRSTAMP_REPORT_FILE. It says nothing, where vitest's own prints the
 * path of a file that is soon gone.
 */
export default class ReportFile extends JsonReporter {
  writeReport(report) {
    return writeFile(process.env.FIRSTAMP_REPORT_FILE, report);
  }
}
