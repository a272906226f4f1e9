/** The languages of the page. What the daemon says is English in both. */
export type Language = "en" | "de";

/** For numbers and dates: both say the day before the month and the hour of 24. */
const LOCALES: Record<Language, string> = { en: "en-GB", de: "de-DE" };

type Values = Record<string, string | number>;
type Sentences = Record<string, string>;

/** A file of sentences: English comes with the page, German when it is asked for. */
interface Section {
  german: () => Promise<{ default: Sentences }>;
  /** The German sentences, once they are there. */
  loaded: Sentences | null;
}

const sections: Section[] = [];
let chosen: Language = "en";
/** The language that was asked for last: spoken as soon as its sentences are there. */
let wanted: Language = "en";
let onMore = (): void => {};

export const language = (): Language => chosen;
export const locale = (): string => LOCALES[chosen];

const load = async (section: Section): Promise<void> => {
  section.loaded ??= (await section.german()).default;
};

/**
 * Loads every section in a language, then speaks it; where German cannot be loaded the page stays as it is. A part of the page that
 * comes meanwhile brings sections of its own: those are loaded too.
 */
export async function speak(asked: Language): Promise<void> {
  wanted = asked;
  try {
    for (let known = -1; asked === "de" && known < sections.length; ) {
      known = sections.length;
      await Promise.all(sections.map(load));
    }
  } catch (cause) {
    if (wanted === asked) wanted = chosen;
    throw cause;
  }
  if (wanted === asked) chosen = asked;
}

/** Tells when sentences came for a part of the page that is spoken already, so that it can be drawn anew. */
export const whenMoreIsSpoken = (told: () => void): void => {
  onMore = told;
};

/**
 * The sentences of one file, by their keys. `{name}` in a sentence is filled in from `values`, a number in the language's way.
 * A key that a language lacks is said in English.
 */
export function sentences<Key extends string>(
  english: Record<Key, string>,
  german: () => Promise<{ default: Record<Key, string> }>,
): (key: Key, values?: Values) => string {
  const section: Section = { german, loaded: null };
  sections.push(section);
  if (chosen === "de")
    void load(section).then(
      () => onMore(),
      () => undefined,
    );
  return (key, values = {}) => {
    const sentence = (chosen === "de" ? section.loaded?.[key] : undefined) ?? english[key];
    return sentence.replace(/\{(\w+)\}/g, (whole, name: string) => {
      const value = values[name];
      return value === undefined ? whole : typeof value === "number" ? local(String(value)) : value;
    });
  };
}

/** A text of figures with the decimal mark of the language: "1.2 A" is "1,2 A" in German. */
export const local = (text: string): string => (chosen === "de" ? text.replace(/(\d)\.(?=\d)/g, "$1,") : text);
