const LONGEST = 120;
// Control characters, the marks that turn the direction of text, and what some system takes for a path or a device.
// biome-ignore lint/suspicious/noControlCharactersInRegex: they are what is taken out
const UNSAFE = /[\u0000-\u001f\u007f-\u009f\u200b-\u200f\u2028-\u202e\u2066-\u2069\ufeff<>:"/\\|?*]/gu;
const DEVICE = /^(con|prn|aux|nul|com\d|lpt\d)(\.|$)/i;

/**
 * A file name that is safe to show and to save under on any system, at most 120 characters with its extension kept: the
 * last part of a path, without control characters, direction marks, path and wildcard characters, leading dots or device
 * names. Never empty ("file" where nothing is left).
 */
export function safeName(given: string): string {
  const last = given.split(/[/\\]/).at(-1) ?? "";
  const clean = wellFormed(last)
    .normalize("NFC")
    .replace(UNSAFE, "_")
    .replace(/^[\s.]+|[\s.]+$/g, "");
  const named = DEVICE.test(clean) ? `_${clean}` : clean;
  if (named.length <= LONGEST) return named || "file";
  const extension = /\.[A-Za-z0-9]{1,8}$/.exec(named)?.[0] ?? "";
  return `${wellFormed(named.slice(0, LONGEST - extension.length))}${extension}`;
}

/** Half a character pair, as a cut may leave one, becomes the replacement character. */
const wellFormed = (text: string): string => Buffer.from(text, "utf8").toString("utf8");
