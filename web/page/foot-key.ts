const KEPT = "firstamp-foot-key";
const NOT_A_KEY = new Set(["Shift", "Control", "Alt", "Meta", "Tab", "Escape"]);

/** The key of the foot switch, kept in this browser; the space bar until another was chosen. */
export const footKey = {
  kept: (): string => localStorage.getItem(KEPT) ?? " ",
  keep: (key: string): void => localStorage.setItem(KEPT, key),
  /** Escape always cuts, Tab walks, and a modifier alone is no key. */
  mayBe: (key: string): boolean => !NOT_A_KEY.has(key),
};
