/** The languages of the page. What the daemon says is English in both. */
export type Language = "en" | "de";

/** For numbers and dates: both say the day before the month and the hour of 24. */
const LOCALES: Record<Language, string> = { en: "en-GB", de: "de-DE" };

type Values = Record<string, string | number>;
type Sentences = Record<string, string>;

/** A file of sentences: English comes with the page, German when it is asked for. */
interface Section {
  english: Sentences;
  german: () => Promise<{ default: Sentences }>;
  now: Sentences;
}

const sections: Section[] = [];
let chosen: Language = "en";

export const language = (): Language => chosen;
export const locale = (): string => LOCALES[chosen];

/** Loads every section in a language, then speaks it; where German cannot be loaded the page stays as it is. */
export async function speak(wanted: Language): Promise<void> {
  const loaded = await Promise.all(sections.map((each) => (wanted === "de" ? each.german() : null)));
  chosen = wanted;
  for (const [index, section] of sections.entries()) section.now = loaded[index]?.default ?? section.english;
}

/**
 * The sentences of one file, by their keys. `{name}` in a sentence is filled in from `values`, a number in the language's way.
 * A key that a language lacks is said in English.
 */
export function sentences<Key extends string>(
  english: Record<Key, string>,
  german: () => Promise<{ default: Record<Key, string> }>,
): (key: Key, values?: Values) => string {
  const section: Section = { english, german, now: english };
  sections.push(section);
  if (chosen === "de")
    void german().then(({ default: loaded }) => {
      if (chosen === "de") section.now = loaded;
    });
  return (key, values = {}) => {
    const sentence = section.now[key] ?? english[key];
    return sentence.replace(/\{(\w+)\}/g, (whole, name: string) => {
      const value = values[name];
      return value === undefined ? whole : typeof value === "number" ? local(String(value)) : value;
    });
  };
}

/** A text of figures with the decimal mark of the language: "1.2 A" is "1,2 A" in German. */
export const local = (text: string): string => (chosen === "de" ? text.replace(/(\d)\.(?=\d)/g, "$1,") : text);
