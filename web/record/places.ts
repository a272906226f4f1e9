import type { PageState } from "../page/page-state.ts";
import type { Round } from "./rounds.ts";

/** The six places of a job, as hands go between them. */
export const PLACES = [
  { place: "board" },
  { place: "cold" },
  { place: "power" },
  { place: "probe" },
  { place: "work" },
  { place: "compare" },
] as const;
/** The place of no job: what all benches of the shop do. It is there where this bench belongs to one. */
export const SHOP_PLACE = { place: "shop" } as const;
export type Place = (typeof PLACES)[number]["place"] | typeof SHOP_PLACE.place;

/** `again`: it was done in this round, and counts no more. */
export type PlaceMark = "done" | "now" | "again" | "open";

export const isOn = (state: PageState): boolean => state.run !== null && state.run.outcome === null;
export const isSweeping = (state: PageState): boolean => state.sweep !== null && state.sweep.done === null;

/** The finished places of a round by the record, and the place of the job now; ticks belong to their round. */
export function placeMarks(
  state: PageState,
  job: string | null,
  round: Round | null,
  coldExpired: boolean,
): Map<Place, PlaceMark> {
  const did = (kind: string): boolean => round?.kinds.has(kind) ?? false;
  const done: Record<(typeof PLACES)[number]["place"], PlaceMark> = {
    board: round === null ? "open" : "done",
    cold: !did("cold-readings") ? "open" : coldExpired ? "again" : "done",
    power: did("run-ended") ? "done" : "open",
    probe: did("sweep-ended") ? "done" : "open",
    work: round?.isLast === false ? "done" : "open",
    compare: "open",
  };
  if (round === null || round.isLast) {
    if (isSweeping(state) && state.sweep?.job === job) done.probe = "now";
    else if (isOn(state) && state.run?.job === job) done.power = "now";
  }
  return new Map<Place, PlaceMark>(PLACES.map(({ place }) => [place, done[place]]));
}

/** The place a page opens on where its address names none. */
export function openingPlace(state: PageState): Place {
  if (isSweeping(state)) return "probe";
  if (isOn(state) || state.run !== null) return "power";
  return "board";
}

/** The place a page turns to because of what it was told since; null: it stays where the person is. */
export function placeTurnedTo(before: PageState, after: PageState): Place | null {
  // The riskiest seconds have the fullest screen: the rails come once the first of them is named.
  const named = (state: PageState): boolean => isSweeping(state) && state.sweep?.place != null;
  if (isSweeping(after) && before.sweep?.sweep !== after.sweep?.sweep)
    return after.sweep?.cold === true ? "probe" : "power";
  if (
    named(after) &&
    !named(before) &&
    before.sweep?.sweep === after.sweep?.sweep &&
    (after.sweep?.rails.length ?? 0) === 0
  )
    return "probe";
  if (isSweeping(after)) return null;
  if (isOn(after) && before.run?.run !== after.run?.run) return "power";
  return null;
}
