import type { PlanEvent } from "../../../shared/plan.ts";
import type { Energised } from "../machine/machine-state.ts";
import type { Finding } from "./finding.ts";

/** A reading of a guarded quantity that is an overload, or no finite number: what it hides may be anything. */
export function overloadReading(state: Energised, event: PlanEvent): Finding | null {
  if (event.event !== "reading") return null;
  const { feed, volts, amps } = event.reading;
  const on = state.energised.some((each) => each.feed === feed);
  const bad = (quantity: typeof volts | typeof amps): boolean =>
    quantity.kind === "overload" ||
    ("volts" in quantity && !Number.isFinite(quantity.volts)) ||
    ("amps" in quantity && !Number.isFinite(quantity.amps));
  // With its output off a supply's current means nothing; its volts still do.
  const which = bad(volts) ? "volts" : on && bad(amps) ? "amps" : null;
  if (which === null) return null;
  return {
    rule: "overload-reading",
    feed,
    board: true,
    because: `the ${which} of ${feed} read as an overload while ${on ? "it is" : "other feeds are"} on, so its value is unknown`,
  };
}
