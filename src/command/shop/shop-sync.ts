import type { Command } from "commander";
import { counted } from "../../../shared/words/counted.ts";
import { type JobOptions, jobSubcommand } from "../record/job-options.ts";

/** `shop sync`: exchanges with the shop's database until nothing waits. */
export function shopSyncCommand(): Command {
  return jobSubcommand("sync", "exchange with the shop's database until nothing waits").action(
    async (options: JobOptions) => {
      const [{ syncShop }, { printDocument, say }, { EXIT }] = await Promise.all([
        import("./sync-shop.ts"),
        import("../text/people.ts"),
        import("../input/exit-code.ts"),
      ]);
      const synced = await syncShop(options.data, say);
      const { events, files } = synced.waiting;
      const isDone = synced.because === null && events + files === 0;
      if (options.json) printDocument(synced);
      else if (isDone) say(`Sent ${counted(synced.sent, "event")}, received ${synced.received}; nothing waits.`);
      else
        say(
          `To be sent: ${counted(events, "event")} and ${counted(files, "file")}${synced.because === null ? "" : `: ${synced.because}`}.`,
        );
      process.exitCode = isDone ? EXIT.asPlanned : EXIT.failed;
    },
  );
}
