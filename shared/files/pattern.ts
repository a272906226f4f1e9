/**
 * A text pattern in a part of the language of regular expressions (ECMA-262, 22.2), matched without going back: all ways are
 * followed side by side, so that no pattern and no text takes long. A driver file is another person's, and its
 * patterns run in the process that switches off.
 *
 * There are characters, `.`, `\d \w \s \D \W \S`, `[a-z]` and `[^a-z]`, groups `(…)` and `(?:…)`, `|`, `* + ? {2} {2,} {2,5}`,
 * `^` and `$`. There are no back references, no look-ahead and no lazy repeats. Case does not count.
 */
export interface Pattern {
  /** Whether the pattern is found anywhere in the text; of the text the first 128 characters count. */
  isIn(text: string): boolean;
}

const LONGEST_TEXT = 128;
const DEEPEST_GROUP = 8;
const MOST_REPEATS = 100;

/** The places where a part of the pattern may end, of all the places where it may begin. All of them go on side by side. */
type Part = (text: string, from: ReadonlySet<number>) => ReadonlySet<number>;

/** Reads a pattern. Throws an Error that says what is not in the language and where, counted from 1. */
export function readPattern(source: string): Pattern {
  const part = new PatternReader(source).whole();
  return {
    isIn: (text) => {
      // The place where the text is cut is not its end.
      const shown = (text.length > LONGEST_TEXT ? `${text.slice(0, LONGEST_TEXT)}…` : text).toLowerCase();
      return part(shown, new Set(Array.from({ length: shown.length + 1 }, (_, at) => at))).size > 0;
    },
  };
}

const oneOf =
  (parts: readonly Part[]): Part =>
  (text, from) =>
    new Set(parts.flatMap((part) => [...part(text, from)]));

const inOrder =
  (parts: readonly Part[]): Part =>
  (text, from) => {
    let places = from;
    for (const part of parts) places = part(text, places);
    return places;
  };

const repeated =
  (part: Part, least: number, most: number): Part =>
  (text, from) => {
    let places = from;
    for (let times = 0; times < least && places.size > 0; times++) {
      const next = part(text, places);
      // A part that may be empty leads to the same places however often.
      if (next.size === places.size && [...next].every((place) => places.has(place))) break;
      places = next;
    }
    const ends = new Set(places);
    for (let times = least; times < most && places.size > 0; times++) {
      // Places that were reached with fewer repeats lead nowhere new.
      places = new Set([...part(text, places)].filter((place) => !ends.has(place)));
      for (const place of places) ends.add(place);
    }
    return ends;
  };

const single =
  (fits: (character: string) => boolean): Part =>
  (text, from) =>
    new Set([...from].filter((place) => place < text.length && fits(text[place] ?? "")).map((place) => place + 1));

const at =
  (isThere: (text: string, place: number) => boolean): Part =>
  (text, from) =>
    new Set([...from].filter((place) => isThere(text, place)));

const CLASSES: Readonly<Record<string, RegExp>> = { d: /[0-9]/, w: /[0-9a-z_]/, s: /\s/ };

class PatternReader {
  readonly #source: string;
  #at = 0;

  constructor(source: string) {
    this.#source = source;
  }

  whole(): Part {
    const part = this.#choice(0);
    if (this.#at < this.#source.length) throw this.#problem("a ) without its (");
    return part;
  }

  #problem(what: string): Error {
    return new Error(`${what} at character ${this.#at + 1}`);
  }

  #take(mark: string): boolean {
    if (!this.#source.startsWith(mark, this.#at)) return false;
    this.#at += mark.length;
    return true;
  }

  #choice(depth: number): Part {
    if (depth > DEEPEST_GROUP) throw this.#problem(`more than ${DEEPEST_GROUP} nested groups`);
    const parts = [this.#sequence(depth)];
    while (this.#take("|")) parts.push(this.#sequence(depth));
    return oneOf(parts);
  }

  #sequence(depth: number): Part {
    const parts: Part[] = [];
    while (this.#at < this.#source.length && !"|)".includes(this.#source[this.#at] ?? "")) {
      parts.push(this.#repeats(this.#atom(depth)));
    }
    return inOrder(parts);
  }

  #repeats(part: Part): Part {
    const bounds = /^(?:([*+?])|\{(\d{1,3})(?:(,)(\d{1,3})?)?\})/.exec(this.#source.slice(this.#at, this.#at + 12));
    if (bounds === null) return part;
    const [all, mark, low = "0", comma, high] = bounds;
    this.#at += all.length;
    if (/^[*+?{]/.test(this.#source.slice(this.#at))) throw this.#problem("a repeat of a repeat");
    if (mark !== undefined) return repeated(part, mark === "+" ? 1 : 0, mark === "?" ? 1 : Number.POSITIVE_INFINITY);
    const least = Number(low);
    const most = comma === undefined ? least : high === undefined ? Number.POSITIVE_INFINITY : Number(high);
    if (most < least || least > MOST_REPEATS) throw this.#problem(`a repeat that is not 0 to ${MOST_REPEATS} times`);
    return repeated(part, least, most);
  }

  #atom(depth: number): Part {
    if (this.#take("(")) {
      if (!this.#take("?:") && this.#source[this.#at] === "?")
        throw this.#problem("a group that looks ahead or has a name");
      const part = this.#choice(depth + 1);
      if (!this.#take(")")) throw this.#problem("a ( without its )");
      return part;
    }
    if (this.#take("[")) return single(this.#set());
    if (this.#take("^")) return at((_, from) => from === 0);
    if (this.#take("$")) return at((text, from) => from === text.length);
    if (this.#take(".")) return single(() => true);
    if (/[*+?{}\]]/.test(this.#source[this.#at] ?? ""))
      throw this.#problem("a repeat of nothing, or a single bracket,");
    return single(this.#character());
  }

  #character(): (character: string) => boolean {
    const escaped = this.#take("\\");
    const character = (this.#source[this.#at] ?? "").toLowerCase();
    if (character === "") throw this.#problem("a \\ with nothing after it");
    const named = escaped ? this.#source[this.#at] : undefined;
    this.#at++;
    if (named === undefined || !/[A-Za-z0-9]/.test(named)) return (each) => each === character;
    const group = CLASSES[named.toLowerCase()];
    if (group === undefined) throw this.#problem(`\\${named}, which has no meaning here,`);
    const isIn = named === named.toLowerCase();
    return (each) => group.test(each) === isIn;
  }

  #set(): (character: string) => boolean {
    const isNot = this.#take("^");
    const fits: ((character: string) => boolean)[] = [];
    while (!this.#take("]")) {
      if (this.#at >= this.#source.length) throw this.#problem("a [ without its ]");
      const from = this.#source[this.#at] ?? "";
      const to = this.#source[this.#at + 2];
      if (from !== "\\" && this.#source[this.#at + 1] === "-" && to !== undefined && !"]\\".includes(to)) {
        const [low, high] = [from.toLowerCase(), to.toLowerCase()];
        if (low > high) throw this.#problem("a range that runs backwards");
        this.#at += 3;
        fits.push((each) => each >= low && each <= high);
      } else fits.push(this.#character());
    }
    return (character) => fits.some((each) => each(character)) !== isNot;
  }
}
