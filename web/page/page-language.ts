import { type Language, speak } from "../words/words.ts";

const KEPT = "firstamp-language";

/** The language that was chosen in this browser, else the browser's own; English where it is neither of the two. */
export function languageWanted(): Language {
  const kept = localStorage.getItem(KEPT);
  if (kept === "en" || kept === "de") return kept;
  return navigator.language.startsWith("de") ? "de" : "en";
}

/** Speaks a language; where its sentences cannot be loaded the page stays as it is. */
export async function turnTo(language: Language): Promise<void> {
  await speak(language).catch(() => undefined);
  document.documentElement.lang = language;
}

/** Speaks a language that a person chose, and keeps the choice in this browser. */
export function choose(language: Language): Promise<void> {
  localStorage.setItem(KEPT, language);
  return turnTo(language);
}
