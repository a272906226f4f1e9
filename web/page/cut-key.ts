/**
 * Whether a key cuts. Escape always does, wherever the focus is. The foot key (the space bar unless another was chosen;
 * a foot switch is a keyboard with one key) cuts while anything is on or not known to be off: then it has no other use.
 */
export function isCutKey(
  event: { key: string; repeat: boolean },
  state: { mayBeOn: boolean; footKey: string },
): boolean {
  if (event.repeat) return false;
  if (event.key === "Escape") return true;
  return state.mayBeOn && event.key === state.footKey;
}

export const keyName = (key: string): string => (key === " " ? "Space" : key);
