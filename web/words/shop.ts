import english from "./shop.en.json" with { type: "json" };
import { sentences } from "./words.ts";

/** The words of the place Shop. */
export const say = sentences<keyof typeof english>(english, () => import("./shop.de.json"));
