import type { Command } from "commander";
import { type JobOptions, jobSubcommand } from "../record/job-options.ts";

/** `shop check`: whether the shop can be reached, what waits, and which benches there are. */
export function shopCheckCommand(): Command {
  return jobSubcommand(
    "check",
    "say whether the shop can be reached, what still waits to be sent, and which benches exist",
  ).action(async (options: JobOptions) => {
    const [{ checkShop }, { shopText }, { printAsIs, printDocument }, { EXIT }] = await Promise.all([
      import("./check-shop.ts"),
      import("./shop-text.ts"),
      import("../text/people.ts"),
      import("../input/exit-code.ts"),
    ]);
    const found = await checkShop(options.data);
    if (options.json) printDocument(found);
    else printAsIs(shopText(found));
    const isAway = [found.record, found.live].some((each) => each !== null && !each.reachable);
    process.exitCode = isAway ? EXIT.failed : EXIT.asPlanned;
  });
}
