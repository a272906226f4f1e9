import { BenchError } from "../../../shared/bench-error.ts";
import type { SharedShop } from "../../../shared/files/shop-settings.ts";
import { readShopSettings } from "../../job/store/shop-settings.ts";

/** The shop that the bench with this data directory belongs to. Throws BenchError "bad-input" where it belongs to none. */
export async function shopOf(dir: string): Promise<SharedShop> {
  const shared = (await readShopSettings(dir))?.shared;
  if (shared !== undefined) return shared;
  throw new BenchError(
    "bad-input",
    `The bench with the data in ${dir} does not belong to a shop: its shop.json has no "shared"; docs/shop.md explains the set-up`,
  );
}
