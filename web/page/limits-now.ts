import type { WireStageFeed } from "../../shared/wire.ts";
import type { PageState } from "./page-state.ts";

/** The limits in force on a feed: those of the last stage it began and has not left; null while none are. */
export function limitsNow(state: PageState, feed: string): WireStageFeed | null {
  if (state.run === null || state.run.outcome !== null) return null;
  return (
    state.run.stages
      .flatMap((stage) => stage.feeds)
      .findLast((each) => each.feed === feed && each.startedAtMs !== null && each.endedAtMs === null) ?? null
  );
}
