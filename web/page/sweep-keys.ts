import type { SweepWord } from "../../shared/sweep.ts";

/** The words of a sweep, each with its key. No letters: a key must not be typed by chance, and Escape and the foot key cut. */
export const SWEEP_KEYS: { key: string; word: Exclude<SweepWord, "stop">; shown: string }[] = [
  { key: "Enter", word: "take", shown: "Enter" },
  { key: "ArrowLeft", word: "redo", shown: "←" },
  { key: "ArrowRight", word: "skip", shown: "→" },
  { key: "ArrowDown", word: "cannot-reach", shown: "↓" },
];

/** The word a key says; null for another key, a held one, or where the focus is on something that uses keys itself. */
export function wordFor(
  event: { key: string; repeat: boolean },
  focus: { tag: string; role: string | null },
): SweepWord | null {
  if (event.repeat) return null;
  if (["INPUT", "TEXTAREA", "SELECT", "BUTTON", "SUMMARY", "A"].includes(focus.tag) || focus.role === "tab")
    return null;
  return SWEEP_KEYS.find((each) => each.key === event.key)?.word ?? null;
}
