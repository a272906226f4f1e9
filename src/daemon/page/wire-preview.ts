import type { WirePreview } from "../../../shared/wire.ts";
import { CAUTIONS, PROBE_CAUTIONS } from "../run/cautions.ts";
import type { PreparedRun } from "../run/prepare-run.ts";

/** What would be energised, as the page shows it before a start. */
export const wirePreview = ({ permit, plan, warnings }: PreparedRun): WirePreview => ({
  permit,
  feeds: plan.feeds.map((each) => ({
    feed: each.feed,
    volts: each.nominalVolts,
    limitAmps: each.nominal.limitAmps,
    highestAmps: each.limitAmps,
  })),
  cautions: [...CAUTIONS, ...PROBE_CAUTIONS.map((each) => `For a sweep: ${each}`), ...warnings],
});
