import type { Plan, PlanEvent } from "../../../shared/plan.ts";
import { voltsOf } from "../../../shared/reading.ts";
import { sayMs, sayVolts } from "../../../shared/words/amounts.ts";
import { enterConfigure } from "./configure-step.ts";
import { stepVoltsOf } from "./feed-track.ts";
import type { Ledger, Safe, SafeStep } from "./machine-state.ts";
import { plannedFeed } from "./plan-feeds.ts";
import { endSafe, type StepResult, stay } from "./step-result.ts";

type Clear = Extract<SafeStep, { step: "clear" }>;

/** Patience with volts that are not our own charge, and in all while they keep falling. */
const WINDOW_MS = 5000;
const MOST_MS = 60_000;
/** Falling, while it loses a tenth in each window. */
const STILL_FALLS = 0.9;
/** The time that our own charge gets to run off; the back-feed watch then allows for what is left of it. */
const OWN_CHARGE_MS = { touch: 3000, "hold-low": 1000, rise: 500, inject: 3000 } as const;
/** A supply may stand this much above its set-point, as a share of it. */
const APPLIED_SHARE = 1.02;
/** The least fall that counts: more than the readings of a source scatter, in read-back steps and as a share (common practice, no source). */
const LEAST_STEPS = 3;
const LEAST_FALL = 0.02;

/**
 * Waits for a fresh reading of every feed under the residual voltage before the next one is set up. Charge that an earlier
 * stage left gets a few seconds; volts that nobody explains end the run with nothing switched on.
 */
export function advanceClear(plan: Plan, state: Safe, step: Clear, event: PlanEvent, nowMs: number): StepResult {
  const { ledger } = state;
  const { first, seen } = withSeen(step, ledger, event);
  const unread = ledger.feeds.filter((feed) => seen[feed] === undefined);
  const above = ledger.feeds.filter((feed) => Math.abs(seen[feed] ?? 0) > plan.residualVolts);
  const strange = above.filter((feed) => !isOwnCharge(plan, ledger, feed, first[feed] ?? 0, seen[feed] ?? 0));
  const patient = nowMs - step.sinceMs < OWN_CHARGE_MS[step.target.stage];
  if (unread.length === 0 && strange.length === 0 && !(above.length > 0 && patient))
    return enterConfigure(plan, ledger, step.target, nowMs);

  const worst = Math.max(0, ...strange.map((feed) => Math.abs(seen[feed] ?? 0)));
  const windowVolts = step.windowVolts ?? (strange.length > 0 ? worst : null);
  if (nowMs - step.windowFromMs < WINDOW_MS) {
    return seen === step.seen && windowVolts === step.windowVolts
      ? stay(state)
      : stay({ ...state, step: { ...step, first, seen, windowVolts } });
  }
  if (unread.length > 0) {
    const because = `${unread.join(", ")} could not be read for ${sayMs(nowMs - step.windowFromMs)} before anything was switched on`;
    return endSafe(ledger, { rule: "stale", feed: unread[0] ?? null, board: false, because }, nowMs);
  }
  const falls = windowVolts !== null && worst <= STILL_FALLS * windowVolts;
  if (falls && nowMs - step.sinceMs < MOST_MS) {
    return stay({ ...state, step: { ...step, first, seen, windowFromMs: nowMs, windowVolts: worst } });
  }
  const because = `${strange.join(", ")} shows ${sayVolts(worst)} with nothing switched on, and does not fall below ${sayVolts(plan.residualVolts)}: something else feeds the board, or the board must be discharged first`;
  return endSafe(ledger, { rule: "back-feed", feed: strange[0] ?? null, board: false, because }, nowMs);
}

/**
 * Whether volts on a feed that is off can be what an earlier stage charged it to: no more than was applied to it, and
 * falling. A source holds its volts, a capacitor loses them.
 */
function isOwnCharge(plan: Plan, ledger: Ledger, feed: string, firstVolts: number, volts: number): boolean {
  const applied = ledger.appliedVolts[feed];
  const planned = plannedFeed(plan, feed);
  if (applied === undefined || planned === undefined) return false;
  if (ledger.rules === 1) return true;
  const step = stepVoltsOf(planned);
  const mostVolts = applied * APPLIED_SHARE + 2 * step;
  const fallen = Math.abs(firstVolts) - Math.abs(volts);
  return Math.abs(firstVolts) <= mostVolts && fallen >= Math.max(LEAST_STEPS * step, LEAST_FALL * Math.abs(firstVolts));
}

function withSeen(step: Clear, ledger: Ledger, event: PlanEvent): Pick<Clear, "first" | "seen"> {
  const { first, seen } = step;
  if (event.event !== "reading") return { first, seen };
  const { feed, queriedAtMs } = event.reading;
  const volts = voltsOf(event.reading);
  if (queriedAtMs < step.sinceMs || !ledger.feeds.includes(feed) || volts === undefined || !Number.isFinite(volts))
    return { first, seen };
  return { first: feed in first ? first : { ...first, [feed]: volts }, seen: { ...seen, [feed]: volts } };
}
