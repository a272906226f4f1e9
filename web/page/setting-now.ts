import type { WireSetting } from "../../shared/wire.ts";
import type { PageState } from "./page-state.ts";

/** The setting in force on a feed, as it was read back; null while none is, or nobody knows. */
export function settingNow(state: PageState, feed: string): WireSetting | null {
  if (state.phase !== "live" || state.run === null || state.run.outcome !== null) return null;
  return state.run.settings.findLast((each) => each.feed === feed && each.untilMs === null) ?? null;
}
