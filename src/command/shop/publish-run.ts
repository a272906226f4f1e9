import { isVerdict } from "../../../shared/words/nothing-learned.ts";
import { PageShow } from "../../daemon/page/show-page.ts";
import type { ActiveRun } from "../../daemon/run/active-run.ts";
import type { JoinedShop } from "./join-shop.ts";

/** Tells the shop of a run of the command line what its page would be told; nothing where this bench belongs to no shop. */
export function publishRun(run: ActiveRun, shop: JoinedShop): void {
  if (!shop.isMember) return;
  const show = new PageShow();
  show.subscribe((message) => shop.take(message));
  const { header, job } = run;
  const of = { run: header.run, job, startedAt: header.startedAt };
  for (const { feed } of header.plan.feeds) show.outputs.set(feed, "unknown");
  show.began(header, job);
  run.on("progress", (events, progress) => show.progress(events, progress));
  run.on("holding", (verdict) => show.judged(verdict, of));
  void run.done.then(({ outcome, verdict, endedAtMs }) => {
    if (isVerdict(verdict)) show.judged(verdict, of, outcome);
    show.ended(outcome, { run: header.run, atMs: endedAtMs ?? 0 });
  });
}
