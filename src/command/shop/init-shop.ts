import { BenchError, quoted } from "../../../shared/bench-error.ts";
import { SharedShop } from "../../../shared/files/shop-settings.ts";
import { rolesSql } from "../../job/database/postgres-file.ts";
import { openShopDatabase } from "../../shop/shop-database.ts";
import { whyAway, withoutPassword } from "../../shop/shop-trouble.ts";

/** Makes the tables in a database and answers the SQL for the roles of these benches. Throws BenchError "bad-input". */
export async function initShop(url: string, benches: readonly string[]): Promise<string> {
  for (const bench of benches) {
    if (!SharedShop.shape.bench.safeParse(bench).success)
      throw new BenchError(
        "bad-input",
        `${quoted(bench)} cannot be the name of a bench: it should be 1 to 40 of a-z, 0-9 and -`,
      );
  }
  if (!SharedShop.shape.record.safeParse(url).success)
    throw new BenchError("bad-input", `${quoted(withoutPassword(url))} should begin with postgresql://`);
  const database = openShopDatabase(url);
  try {
    await database.prepare();
  } catch (cause) {
    if (cause instanceof BenchError) throw cause;
    throw new BenchError("bad-input", `Cannot use the database ${quoted(withoutPassword(url))}: ${whyAway(cause)}`, {
      cause,
    });
  } finally {
    await database.close();
  }
  return rolesSql(decodeURIComponent(new URL(url).pathname.slice(1)) || "firstamp", benches);
}
