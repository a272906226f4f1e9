const KEPT = "firstamp-foot-key";
const NOT_A_KEY = new Set(["Shift", "Control", "Alt", "Meta", "Tab", "Escape", "Enter"]);

/** The key of the foot switch, kept in this browser; null until a person chose one on purpose. */
export const footKey = {
  kept: (): string | null => localStorage.getItem(KEPT),
  keep: (key: string | null): void => (key === null ? localStorage.removeItem(KEPT) : localStorage.setItem(KEPT, key)),
  /** Escape always cuts, Tab walks, Enter presses, and a modifier alone is no key. */
  mayBe: (key: string): boolean => !NOT_A_KEY.has(key),
};
