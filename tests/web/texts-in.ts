/** Names, units and marks that are the same in every language, or the language's own name. */
const SAME = new Set(["firstamp", "CV", "CC", "CV/CC?", "Esc", "English", "Deutsch"]);
/** A computed part of a template. */
const HOLE = "\ufffc";

/** Several words; a selector of elements is none, and neither is a font. */
const isSentence = (text: string): boolean =>
  /[A-Za-z]{2,} [A-Za-z]{2,}/.test(text) && !/[[\]]|^\.|sans-serif/.test(text);

/**
 * The words that a source of the page says by itself: texts between the tags of its templates, attributes that are read to people,
 * and sentences in quotes. A reader of characters: comments, imports and styles are passed over.
 */
export function textsIn(source: string): string[] {
  const found: string[] = [];
  let at = 0;

  const after = (end: string): number => {
    const ends = source.indexOf(end, at);
    return ends === -1 ? source.length : ends + end.length;
  };

  function quotedText(mark: string): string {
    const begins = ++at;
    while (at < source.length && source[at] !== mark) at += source[at] === "\\" ? 2 : 1;
    return source.slice(begins, at++);
  }

  function template(tag: string): void {
    let text = "";
    at += 1;
    while (at < source.length && source[at] !== "`") {
      if (source.startsWith("${", at)) {
        at += 2;
        code(tag === "css");
        text += HOLE;
      } else {
        text += source[at] ?? "";
        at += 1;
      }
    }
    at += 1;
    if (tag === "css") return;
    if (tag !== "html" && tag !== "svg") {
      if (isSentence(text)) found.push(text);
      return;
    }
    for (const [, value = ""] of text.matchAll(/\b(?:aria-label|title|placeholder|alt)="([^"]*)"/g)) found.push(value);
    // A hole inside a tag may hide its end; what is between the tags is what is read.
    found.push(...text.replace(/<[^<>]*>/g, HOLE).split(HOLE));
  }

  /** Until the brace that ends it. */
  function code(isStyle: boolean): void {
    let depth = 0;
    let word = "";
    while (at < source.length) {
      const mark = source[at] ?? "";
      if (mark === "}" && depth-- === 0) {
        at += 1;
        return;
      }
      if (source.startsWith("//", at)) at = after("\n");
      else if (source.startsWith("/*", at)) at = after("*/");
      else if (source.startsWith("import ", at) && (at === 0 || source[at - 1] === "\n")) at = after(";");
      else if (mark === '"' || mark === "'") {
        const text = quotedText(mark);
        if (isSentence(text) && !isStyle) found.push(text);
      } else if (mark === "`") template(word);
      else {
        if (mark === "{") depth += 1;
        word = /\w/.test(mark) ? word + mark : "";
        at += 1;
        continue;
      }
      word = "";
    }
  }
  code(false);
  return found
    .flatMap((text) => text.split(/[\s\ufffc]+/))
    .filter((each) => /[A-Za-z]{2,}/.test(each) && !SAME.has(each));
}
