import { say } from "../words/shell.ts";

/**
 * Whether a key cuts. Escape always does, wherever the focus is. The foot key (none until a person chose one; a foot switch
 * is a keyboard with one key) cuts while anything is on or not known to be off, but never while somebody writes.
 */
export function isCutKey(
  event: { key: string; repeat: boolean },
  state: { mayBeOn: boolean; footKey: string | null; isWriting: boolean },
): boolean {
  if (event.repeat) return false;
  if (event.key === "Escape") return true;
  return state.mayBeOn && !state.isWriting && event.key === state.footKey;
}

/** A key as it is printed on a keyboard of the language. */
export const keyName = (key: string): string =>
  key === " " ? say("key.space") : key === "Enter" ? say("key.enter") : key;
