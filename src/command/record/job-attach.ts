import type { Command } from "commander";
import { type JobOptions, jobSubcommand } from "./job-options.ts";

/** `job attach`: keeps files with a job. */
export function jobAttachCommand(): Command {
  return jobSubcommand("attach", "keep photographs, traces or other files with a job, 20 MiB each at most")
    .argument("<job>", "the job")
    .argument("<files...>", "the files; what each is, is told by its content")
    .option("--caption <text>", "what is to be seen")
    .action(async (job: string, files: string[], options: JobOptions & { caption?: string }) => {
      const [{ withRecord }, { printDocument, say }] = await Promise.all([
        import("./with-record.ts"),
        import("../text/people.ts"),
      ]);
      const caption = options.caption === undefined ? {} : { caption: options.caption };
      const filed = await withRecord(options.data, async (store) => {
        const id = await store.findJob(job);
        const attached = [];
        for (const file of files) {
          const { id: event, seq, event: said } = await store.attach(id, file, caption);
          if (said.kind !== "attachment") continue;
          const { sha256, name, mediaType, bytes } = said;
          attached.push({ event, seq, sha256, name, mediaType, bytes });
          if (!options.json) say(`Kept ${name} (${mediaType}, ${bytes} bytes) as number ${seq}.`);
        }
        return { job: id, attached };
      });
      if (options.json) printDocument(filed);
    });
}
