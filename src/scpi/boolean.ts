/**
 * Reads a yes-or-no reply: `1`/`0`, `ON`/`OFF` in any case, or a number that is exactly 0 or 1 (`+0`). Undefined for
 * anything else: an unknown state is never taken for off.
 */
export function parseBoolean(text: string): boolean | undefined {
  const bare = text.trim().toUpperCase();
  if (bare === "ON") return true;
  if (bare === "OFF") return false;
  if (/^\+?0*1(?:\.0*)?(?:E[+-]?0+)?$/.test(bare)) return true;
  if (/^[+-]?0+(?:\.0*)?(?:E[+-]?\d+)?$/.test(bare)) return false;
  return undefined;
}
