import { join } from "node:path";
import { BenchError, quoted } from "../../../shared/bench-error.ts";
import { schemaProblem } from "../../../shared/files/schema-problem.ts";
import { ShopSettings } from "../../../shared/files/shop-settings.ts";
import { messageOf } from "../../../shared/words/message-of.ts";
import { parseJson } from "../../system/parse-json.ts";
import { readPlainFile } from "../../system/read-plain-file.ts";

/** The shop's own numbers, `shop.json` in the data directory; null where there is none. Throws `bad-input` where it is not what it should be. */
export async function readShopSettings(dataDir: string): Promise<ShopSettings | null> {
  const file = join(dataDir, "shop.json");
  let text: string;
  try {
    text = await readPlainFile(file);
  } catch (cause) {
    if (cause instanceof Error && "code" in cause && cause.code === "ENOENT") return null;
    throw refused(file, messageOf(cause), cause);
  }
  let document: unknown;
  try {
    document = parseJson(text);
  } catch (cause) {
    throw refused(file, messageOf(cause), cause);
  }
  const parsed = ShopSettings.safeParse(document);
  if (!parsed.success) throw refused(file, schemaProblem(parsed.error), parsed.error);
  return parsed.data;
}

const refused = (file: string, why: string, cause: unknown): BenchError =>
  new BenchError("bad-input", `Cannot read the shop settings ${quoted(file)}: ${why}; nothing was touched`, { cause });
