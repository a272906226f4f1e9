import { UNNAMED_FEED } from "../../shared/draw-input.ts";

/** A feed at the head of a sentence; one that its file does not name has no name to say. */
export const sayFeed = (feed: string): string => (feed === UNNAMED_FEED ? "The feed" : `Feed ${feed}`);
/** Names in a sentence: `slot12 and aux`. */
export function sayNames(names: readonly string[]): string {
  return names.length < 2 ? (names[0] ?? "none") : `${names.slice(0, -1).join(", ")} and ${names[names.length - 1]}`;
}
