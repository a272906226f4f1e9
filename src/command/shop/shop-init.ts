import { Command } from "commander";

interface InitOptions {
  record: string;
  bench: string[];
}

const gather = (name: string, names: string[]): string[] => [...names, name];

/** `shop init`: makes the tables of a shop, and prints the SQL for its roles. */
export function shopInitCommand(): Command {
  return new Command("init")
    .description("create or update the tables of a shop's database, and print the SQL for the roles of its benches")
    .requiredOption("--record <url>", "the database with its owner's login: postgresql://OWNER@HOST/DATABASE")
    .option("--bench <name>", "a bench that gets a role; repeat for each", gather, [])
    .addHelpText(
      "after",
      "\nThe password comes from PGPASSWORD or the password file. Run it again after each update of the program.\nExit codes: 0 done; 1 failed; 2 bad input.",
    )
    .action(async ({ record, bench }: InitOptions) => {
      const [{ initShop }, { printAsIs, say }] = await Promise.all([
        import("./init-shop.ts"),
        import("../text/people.ts"),
      ]);
      const sql = await initShop(record, bench);
      say("The tables are up to date. The SQL below gives each bench a role that may read and add, and nothing more:");
      printAsIs(sql);
    });
}
