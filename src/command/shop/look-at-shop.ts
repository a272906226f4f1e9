import type { SharedShop } from "../../../shared/files/shop-settings.ts";
import type { JobSummary } from "../../../shared/record/job.ts";
import type { WireShop, WireShopBench } from "../../../shared/wire-shop.ts";
import type { JobStore } from "../../job/store/job-store.ts";
import type { ExchangeStatus } from "../../shop/background-exchange.ts";
import type { LiveBench, LiveWatcher } from "../../shop/live-watcher.ts";

const SHOWN_JOBS = 50;

/** The shop as a page shows it, from what is here: nothing is waited for. */
export async function lookAtShop(of: {
  store: JobStore;
  shared: SharedShop;
  status: ExchangeStatus | null;
  watcher: LiveWatcher | null;
}): Promise<WireShop> {
  const { store, shared, status, watcher } = of;
  const { jobs } = await store.search({ most: SHOWN_JOBS });
  const titles = new Map(jobs.map((job) => [job.job, titleOf(job)]));
  const live = watcher?.benches() ?? [];
  const names = new Set([shared.bench, ...live.map(({ bench }) => bench)]);
  for (const { bench } of jobs) if (bench !== null && bench !== "bench") names.add(bench);
  return {
    shop: shared.shop,
    bench: shared.bench,
    record:
      status === null
        ? null
        : {
            reachable: status.reachable,
            because: status.because,
            waiting: status.waiting.events + status.waiting.files,
            since: status.waiting.since,
            lastAt: status.lastAt,
          },
    live: watcher === null ? null : { ...watcher.connection, ignored: watcher.ignored },
    benches: [...names].sort().map((name) => benchOf(name, shared.bench, live, titles)),
    jobs: jobs.map((job) => ({
      id: job.job,
      title: titleOf(job),
      bench: job.bench,
      stage: job.stage,
      result: job.result,
      state: job.state,
      lastEventAt: job.lastEventAt,
    })),
  };
}

const titleOf = ({ title, board, short }: JobSummary): string => title ?? board ?? short;

function benchOf(
  name: string,
  own: string,
  live: readonly LiveBench[],
  titles: ReadonlyMap<string, string>,
): WireShopBench {
  const told = live.find(({ bench }) => bench === name);
  const state = told?.state ?? null;
  return {
    bench: name,
    isThis: name === own,
    state:
      state === null
        ? null
        : state.is === "gone"
          ? { is: "gone" }
          : {
              is: "here",
              output: state.output,
              job: state.job,
              title: state.job === null ? null : (titles.get(state.job) ?? null),
              stage: state.stage,
              waitingFor: state.waitingFor,
              ageMs: state.ageMs ?? 0,
            },
    feeds: told?.feeds?.feeds.map(({ feed, output, volts, amps }) => ({ feed, output, volts, amps })) ?? [],
    feedsAgeMs: told?.feeds?.ageMs ?? null,
    lastClass: told?.verdict?.class ?? null,
  };
}
