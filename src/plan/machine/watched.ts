import type { Plan } from "../../../shared/plan.ts";
import { withAmps } from "./creep-track.ts";
import { stepAmpsOf } from "./feed-track.ts";
import type { Energised, Watched } from "./machine-state.ts";
import { plannedFeed } from "./plan-feeds.ts";

/**
 * The track of the draw at nominal: from the watch on until the last feed is off. Null before it, and on the way out
 * of records from before that was so.
 */
export function watchedIn({ step, ledger }: Energised): Watched | null {
  if (step.step === "watch" || step.step === "holding") return { sinceMs: step.sinceMs, creep: step.creep };
  return step.step === "switch-off" && ledger.rules !== 1 ? step.watched : null;
}

/** The state with the newest sample of one feed in what is watched. */
export function watchedWith(plan: Plan, state: Energised, feed: string): Energised {
  const watched = watchedIn(state);
  const sample = state.energised.find((each) => each.feed === feed)?.track.last;
  const track = watched?.creep[feed];
  const planned = plannedFeed(plan, feed);
  if (watched === null || sample == null || track === undefined || planned === undefined) return state;
  const creep = { ...watched.creep, [feed]: withAmps(track, sample.amps, sample.atMs, stepAmpsOf(planned)) };
  const { step } = state;
  if (step.step === "switch-off") return { ...state, step: { ...step, watched: { ...watched, creep } } };
  return step.step === "watch" || step.step === "holding" ? { ...state, step: { ...step, creep } } : state;
}
