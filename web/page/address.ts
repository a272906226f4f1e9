import { PLACES, type Place, SHOP_PLACE } from "../record/places.ts";

/** Which job and which place a page shows, as its address says it. */
export interface Address {
  job: string | null;
  place: Place | null;
}

/** Reads the part behind `#`: "/job/ID/cold", or "/board" where no job is open; what it does not name is null. */
export function addressIn(hash: string): Address {
  const [, job, place] = /^#\/(?:job\/([A-Za-z0-9-]{1,64})\/)?([a-z]+)$/.exec(hash) ?? [];
  return { job: job ?? null, place: [...PLACES, SHOP_PLACE].find((each) => each.place === place)?.place ?? null };
}

/** The part behind `#` for a job and a place. */
export const hashOf = (job: string | null, place: Place): string =>
  job === null ? `#/${place}` : `#/job/${job}/${place}`;
