import { BenchError } from "../../../shared/bench-error.ts";
import type { WireAnswer } from "../../../shared/wire.ts";
import { takeLeadNull } from "../run/take-lead-null.ts";
import type { DeskLinks } from "./links-of-desk.ts";
import type { RunDeskOptions } from "./run-desk.ts";
import { NO_BENCH, type RunStarts } from "./run-starts.ts";

/**
 * Nulls the leads for a page: the links anew, every output found off, then the ohms of the probes held together. Throws, in words, where
 * something is on or under way, or where the tips do not meet; what was kept before stays then.
 */
export async function takeNull({
  desk,
  links,
  runs,
  job,
}: {
  desk: RunDeskOptions;
  links: DeskLinks;
  runs: RunStarts;
  job: string | null;
}): Promise<WireAnswer> {
  const { bench, drivers, ownDrivers = {}, data } = desk;
  if (bench === null) throw new Error(NO_BENCH);
  if (bench.meter === undefined)
    throw new BenchError(
      "bad-input",
      "The bench file names no meter, so there are no leads to null. Nothing was touched.",
    );
  runs.mustBeFree();
  const id = job === null ? null : await data.store.findJob(job);
  return await runs.alone(async () => {
    try {
      const found = await links.client.connect({ bench, drivers, ownDrivers, feeds: Object.keys(bench.feeds) });
      links.take(found, []);
      const left = found.feeds.find((each) => each.output !== "off");
      if (left !== undefined)
        throw new Error(
          `Leads cannot be nulled until feed "${left.feed}" is confirmed off; switch it off at the supply.`,
        );
      const meter = found.instruments.find((each) => each.name === bench.meter);
      if (meter === undefined) throw new BenchError("no-reply", "The meter was not found; nothing was energised.");
      const { leadNull, remark } = await takeLeadNull({
        client: links.client,
        meter: meter.identity,
        directory: data.directory,
        job: id === null ? null : { store: data.store, id },
      });
      return { result: "lead-null", ohms: leadNull.ohms, spreadOhms: leadNull.spreadOhms, remark };
    } catch (cause) {
      links.later();
      throw cause;
    }
  });
}
