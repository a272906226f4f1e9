import { sayMs, sayVolts } from "../../../shared/amounts.ts";
import type { Plan, PlanEvent } from "../../../shared/plan.ts";
import { voltsOf } from "../../../shared/reading.ts";
import { enterConfigure } from "./configure-step.ts";
import type { Ledger, Safe, SafeStep } from "./machine-state.ts";
import { endSafe, type StepResult, stay } from "./step-result.ts";

type Clear = Extract<SafeStep, { step: "clear" }>;

/** Patience with a feed that no look of ours has charged, and in all while it keeps falling. */
const WINDOW_MS = 5000;
const MOST_MS = 60_000;
/** Falling, while it loses a tenth in each window. */
const STILL_FALLS = 0.9;
/** How long our own charge is given to run off; the back-feed watch then allows for what is left. */
const OWN_CHARGE_MS = { touch: 3000, "hold-low": 1000, rise: 500, inject: 3000 } as const;

/**
 * Waits for a fresh reading of every feed under the residual voltage before the next one is set up. Charge that our own
 * looks left gets a few seconds; volts that nobody explains end the run with nothing switched on.
 */
export function advanceClear(plan: Plan, state: Safe, step: Clear, event: PlanEvent, nowMs: number): StepResult {
  const { ledger } = state;
  const seen = seenWith(step, ledger, event);
  const unread = ledger.feeds.filter((feed) => seen[feed] === undefined);
  const above = ledger.feeds.filter((feed) => Math.abs(seen[feed] ?? 0) > plan.residualVolts);
  const strange = above.filter((feed) => !ledger.everOn.includes(feed));
  const patient = nowMs - step.sinceMs < OWN_CHARGE_MS[step.target.stage];
  if (unread.length === 0 && strange.length === 0 && !(above.length > 0 && patient))
    return enterConfigure(plan, ledger, step.target, nowMs);

  const worst = Math.max(0, ...strange.map((feed) => Math.abs(seen[feed] ?? 0)));
  const windowVolts = step.windowVolts ?? (strange.length > 0 ? worst : null);
  if (nowMs - step.windowFromMs < WINDOW_MS) {
    return seen === step.seen && windowVolts === step.windowVolts
      ? stay(state)
      : stay({ ...state, step: { ...step, seen, windowVolts } });
  }
  if (unread.length > 0) {
    const because = `${unread.join(", ")} could not be read for ${sayMs(nowMs - step.windowFromMs)} before anything was switched on`;
    return endSafe(ledger, { rule: "stale", feed: unread[0] ?? null, board: false, because }, nowMs);
  }
  const falls = windowVolts !== null && worst <= STILL_FALLS * windowVolts;
  if (falls && nowMs - step.sinceMs < MOST_MS) {
    return stay({ ...state, step: { ...step, seen, windowFromMs: nowMs, windowVolts: worst } });
  }
  const because = `${strange.join(", ")} shows ${sayVolts(worst)} with nothing switched on, and it does not fall under ${sayVolts(plan.residualVolts)}: something else feeds the board, or it must be discharged first`;
  return endSafe(ledger, { rule: "back-feed", feed: strange[0] ?? null, board: false, because }, nowMs);
}

function seenWith(step: Clear, ledger: Ledger, event: PlanEvent): Clear["seen"] {
  if (
    event.event !== "reading" ||
    event.reading.queriedAtMs < step.sinceMs ||
    !ledger.feeds.includes(event.reading.feed)
  )
    return step.seen;
  const volts = voltsOf(event.reading);
  return volts === undefined || !Number.isFinite(volts) ? step.seen : { ...step.seen, [event.reading.feed]: volts };
}
