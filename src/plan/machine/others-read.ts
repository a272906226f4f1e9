import type { Energised } from "./machine-state.ts";

/** Whether every feed that is on has been read, by a question asked since `sinceMs`; those that a person switches have no readings. */
export const energisedWereRead = ({ energised }: Energised, sinceMs: number): boolean =>
  energised.every(({ manual, track }) => manual || (track.last?.queriedAtMs ?? -1) >= sinceMs);

/** Whether every feed that is off has been read since `sinceMs`, so that back-feed would have been seen. */
export function othersWereRead(state: Energised, sinceMs: number): boolean {
  const on = state.energised.map((each) => each.feed);
  return state.ledger.feeds.every((feed) => on.includes(feed) || (state.ledger.offVolts[feed]?.atMs ?? -1) >= sinceMs);
}
