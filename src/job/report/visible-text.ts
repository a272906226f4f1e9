/**
 * Text from a person, a file or an instrument, safe to show on a terminal or a page: control characters (a terminal would
 * obey them) become their pictures (U+2400 block), the marks that turn the direction of text are spelled out, and half
 * characters become U+FFFD. Line ends and tabs stay.
 */
export function visibleText(text: string): string {
  // biome-ignore lint/suspicious/noControlCharactersInRegex: they are what is made visible
  const controls = /[\u0000-\u0008\u000b-\u001f\u007f-\u009f\u200b-\u200f\u2028-\u202e\u2066-\u2069\ufeff]/g;
  return Buffer.from(text, "utf8").toString("utf8").replace(controls, pictured);
}

function pictured(control: string): string {
  const code = control.charCodeAt(0);
  if (code < 0x20) return String.fromCharCode(0x2400 + code);
  if (code === 0x7f) return "\u2421";
  return `\\u${code.toString(16).padStart(4, "0")}`;
}
