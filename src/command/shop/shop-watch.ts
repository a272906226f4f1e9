import type { Command } from "commander";
import { type JobOptions, jobSubcommand } from "../record/job-options.ts";

/** `shop watch`: what the benches of the shop do, as it happens. */
export function shopWatchCommand(): Command {
  return jobSubcommand("watch", "show what the benches of the shop do, one line per change, until Ctrl-C").action(
    async (options: JobOptions) => {
      const { watchShop } = await import("./watch-shop.ts");
      process.exitCode = await watchShop(options);
    },
  );
}
