/** A number as people write it, with a point or a comma; null for anything else, also for 1,234, which reads as two values. */
export function numberIn(text: string): number | null {
  const bare = text.trim().replace(/^[−–]/, "-");
  if (!/^-?(\d+|\d*[.,]\d+)$/.test(bare) || /^-?[1-9]\d{0,2},\d{3}$/.test(bare)) return null;
  return Number(bare.replace(",", "."));
}
