import { type Command, InvalidArgumentError } from "commander";
import { BenchError } from "../../../shared/bench-error.ts";
import { type JobOptions, jobSubcommand } from "./job-options.ts";

interface ExportOptions extends JobOptions {
  out: string;
  csv?: boolean;
  capture?: string;
  from?: number;
  to?: number;
}

function secondsOf(text: string): number {
  const seconds = Number(text);
  if (text.trim() === "" || !Number.isFinite(seconds) || seconds < 0)
    throw new InvalidArgumentError("It should be seconds since the run began.");
  return seconds;
}

/** `job export`: the whole job in one file, or one of its captures as CSV. */
export function jobExportCommand(): Command {
  return jobSubcommand("export", "write a whole job to one file that another bench can import")
    .argument("<job>", "the job")
    .requiredOption("--out <file>", "file to write; an existing file is never overwritten")
    .option("--csv", "write the readings of the last run as CSV instead, as `classify` reads them")
    .option("--capture <id>", "with --csv: only the readings of this capture")
    .option("--from <seconds>", "with --csv: only readings from this time of the run on", secondsOf)
    .option("--to <seconds>", "with --csv: only readings up to this time of the run", secondsOf)
    .action(async (job: string, options: ExportOptions) => {
      const { from, to, capture } = options;
      if (!options.csv && (from ?? to ?? capture) !== undefined)
        throw new BenchError(
          "bad-input",
          "--capture, --from and --to need --csv, because an archive is always the whole job; nothing was written",
        );
      const [{ lookingAtRecord }, { printDocument, say }, { exportJob }, { exportCaptureCsv }] = await Promise.all([
        import("./with-record.ts"),
        import("../text/people.ts"),
        import("../../job/archive/export-job.ts"),
        import("./export-capture-csv.ts"),
      ]);
      const document = await lookingAtRecord(options.data, async (store) => {
        const id = await store.findJob(job);
        if (!options.csv) return { job: id, out: options.out, done: await exportJob(store, id, options.out) };
        const wanted = {
          ...(capture === undefined ? {} : { capture }),
          ...(from === undefined ? {} : { fromMs: from * 1000 }),
          ...(to === undefined ? {} : { toMs: to * 1000 }),
        };
        return { job: id, out: options.out, ...(await exportCaptureCsv(store, id, options.out, wanted)) };
      });
      if (options.json) printDocument(document);
      else say(document.done === "same" ? "The same file is there already." : `Written to ${options.out}.`);
    });
}
