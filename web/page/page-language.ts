import { type Language, language, speak, whenMoreIsSpoken } from "../words/words.ts";

const KEPT = "firstamp-language";

/** The language that was chosen in this browser, else the browser's own; English where it is neither of the two. */
function languageWanted(): Language {
  const kept = localStorage.getItem(KEPT);
  if (kept === "en" || kept === "de") return kept;
  return navigator.language.startsWith("de") ? "de" : "en";
}

/** Speaks a language; where its sentences cannot be loaded the page stays as it is. */
async function turnTo(wanted: Language): Promise<void> {
  await speak(wanted).catch(() => undefined);
  document.documentElement.lang = language();
}

/** Speaks a language that a person chose, and keeps the choice in this browser. */
export function choose(wanted: Language): Promise<void> {
  localStorage.setItem(KEPT, wanted);
  return turnTo(wanted);
}

/** Speaks the language that is wanted, and has the page drawn anew whenever more of it is spoken. English is there from the start. */
export function speakFromStart(redraw: () => void): void {
  whenMoreIsSpoken(redraw);
  if (languageWanted() !== "en") void turnTo(languageWanted()).then(redraw);
}
