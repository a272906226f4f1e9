import { Command } from "commander";
import { shopCheckCommand } from "./shop/shop-check.ts";
import { shopInitCommand } from "./shop/shop-init.ts";
import { shopSyncCommand } from "./shop/shop-sync.ts";
import { shopWatchCommand } from "./shop/shop-watch.ts";

/** `firstamp shop …`: several benches that share one record. Nothing here touches an instrument. */
export function shopCommand(): Command {
  const command = new Command("shop")
    .description("several benches with one record: the exchange with the shop's database, and what is live")
    .addHelpText(
      "after",
      `
A bench takes part when shop.json in its data directory has "shared". No command and no run waits for the network.

Exit codes: 0 done; 1 not reachable, or something waits still; 2 bad input.`,
    );
  for (const each of [shopCheckCommand, shopSyncCommand, shopWatchCommand, shopInitCommand]) command.addCommand(each());
  return command;
}
