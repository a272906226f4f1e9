import { BenchError } from "../../../shared/bench-error.ts";
import { watchLive } from "../../shop/live-watcher.ts";
import { dataDirectory } from "../input/data-directory.ts";
import { endings } from "../input/endings.ts";
import { EXIT } from "../input/exit-code.ts";
import type { JobOptions } from "../record/job-options.ts";
import { print, printDocument, say } from "../text/people.ts";
import { shopOf } from "./shop-settings-of.ts";
import { liveLine } from "./shop-text.ts";

/** Figures come ten times a second; a line is for reading. */
const LINE_MS = 1000;

/** Shows what the benches of a shop publish until a signal; answers with the exit code. */
export async function watchShop(options: JobOptions): Promise<number> {
  const shop = await shopOf(dataDirectory(options.data));
  const { live } = shop;
  if (live === undefined) throw new BenchError("bad-input", '"shared" in shop.json has no "live" to watch');
  const ending = endings();
  const shownAt = new Map<string, number>();
  let said: string | null = null;
  const watcher = watchLive({
    shop: { ...shop, live },
    onConnection() {
      const { reachable, because } = watcher.connection;
      const news = reachable
        ? null
        : `The broker cannot be used now: ${because}. The program tries again every few seconds.`;
      if (news !== said && news !== null) say(news);
      said = news;
    },
    onChange(bench, kind) {
      const now = Date.now();
      if (kind === "feeds" && now - (shownAt.get(bench) ?? 0) < LINE_MS) return;
      shownAt.set(bench, now);
      const found = watcher.benches().find((each) => each.bench === bench);
      if (found === undefined) return;
      if (options.json === true) printDocument(found);
      else print(liveLine(found));
    },
  });
  try {
    await ending.first;
    return EXIT.asPlanned;
  } finally {
    await watcher.close();
    ending.release();
  }
}
