/** Reads `"abcd""123"` or `'it''s'` (IEEE 488.2, 8.7.8); undefined where the quotes do not close or do not frame it all. */
export function parseQuotedString(text: string): string | undefined {
  const bare = text.trim();
  const quote = bare[0];
  if ((quote !== '"' && quote !== "'") || bare.length < 2 || !bare.endsWith(quote)) return undefined;
  const inside = bare.slice(1, -1);
  const doubled = quote + quote;
  // Without its doubled quotes the text must hold none.
  if (inside.replaceAll(doubled, "").includes(quote)) return undefined;
  return inside.replaceAll(doubled, quote);
}
