import { Command } from "commander";
import { shopCheckCommand } from "./shop/shop-check.ts";
import { shopInitCommand } from "./shop/shop-init.ts";
import { shopSyncCommand } from "./shop/shop-sync.ts";
import { shopWatchCommand } from "./shop/shop-watch.ts";

/** `firstamp shop …`: several benches that share one record. Nothing here touches an instrument. */
export function shopCommand(): Command {
  const command = new Command("shop")
    .description("several benches with one record: exchange with the shop's database, and what runs now")
    .addHelpText(
      "after",
      `
A bench takes part if shop.json in its data directory has an entry "shared". No command and no run ever waits for the network.

Exit codes: 0 done; 1 not reachable, or something still waits to be sent; 2 bad input.`,
    );
  for (const each of [shopCheckCommand, shopSyncCommand, shopWatchCommand, shopInitCommand]) command.addCommand(each());
  return command;
}
