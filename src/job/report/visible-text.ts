/**
 * Text from a person, a file or an instrument, safe to show on a terminal or a page: control characters (a terminal would
 * obey them) become their pictures (U+2400 block), marks that turn the direction of text or have no width are spelled out,
 * and half characters become U+FFFD. Line ends and tabs stay.
 */
export function visibleText(text: string): string {
  return text.replace(/\p{Surrogate}/gu, "\ufffd").replace(OBEYED, (mark) => {
    const code = mark.codePointAt(0) ?? 0;
    if (code < 0x20) return String.fromCharCode(0x2400 + code);
    return code === 0x7f ? "\u2421" : escaped(mark);
  });
}

/** As `visibleText`, on one line: what comes from outside must not begin a line of its own. */
export const visibleLine = (text: string): string => visibleText(text).replace(/[\r\n\t]+/g, " ");

/** JSON text with the same value, in which nothing is left that a terminal would obey. */
export const visibleJson = (json: string): string => json.replace(OBEYED, escaped);

/**
 * C0 without tab and line feed, delete, C1 (ECMA-48), and of Unicode: the marks of direction (UAX #9), of no width, line and
 * paragraph separators, annotations and tags.
 */
const OBEYED =
  // biome-ignore lint/suspicious/noControlCharactersInRegex: they are what is made visible
  /[\u0000-\u0008\u000b-\u001f\u007f-\u009f\u00ad\u061c\u180e\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff\ufff9-\ufffb\u{e0000}-\u{e007f}]/gu;

/** As JSON writes it: a character beyond U+FFFF by its two halves. */
function escaped(mark: string): string {
  return Array.from({ length: mark.length }, (_, at) => `\\u${mark.charCodeAt(at).toString(16).padStart(4, "0")}`).join(
    "",
  );
}
