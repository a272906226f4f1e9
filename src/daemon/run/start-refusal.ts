import type { WireAnswer, WireCommand } from "../../../shared/wire.ts";
import type { PreparedRun } from "./prepare-run.ts";

/** The permit that the person was shown and confirmed. */
export type Confirmed = Extract<WireCommand, { type: "start-run" }>["confirmed"];

/** Why a run that was prepared may not begin: its permit, or a plan that is not the one confirmed; null where it may. */
export function startRefusal({ permit, plan }: PreparedRun, confirmed: Confirmed): WireAnswer | null {
  if (!permit.granted) return refused("permit", `The permit is not granted: ${permit.refusedBecause.join("; ")}`);
  const shown = new Map(confirmed.map((each) => [each.feed, each]));
  const isSame = plan.feeds.every((each) => {
    const seen = shown.get(each.feed);
    return seen?.volts === each.nominalVolts && seen.limitAmps === each.nominal.limitAmps;
  });
  if (isSame && shown.size === plan.feeds.length) return null;
  return refused("changed", "The plan differs from the one that was shown and confirmed; check it again");
}

const refused = (code: string, because: string): WireAnswer => ({
  result: "refused",
  code,
  because: `${because}. Nothing was energised.`,
});
