import english from "./tour.en.json" with { type: "json" };
import { sentences } from "./words.ts";

export type TourKey = keyof typeof english;

/** The words of the tour at each place. */
export const say = sentences<TourKey>(english, () => import("./tour.de.json"));
