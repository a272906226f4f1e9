const FACTORS: Record<string, number> = { "": 1, m: 1e-3, k: 1e3 };

/**
 * Volts as they are read off a meter: `1.81`, `1,81 V`, `-0.3`, `450m`, or `3V3` with the letter in the place of the point; null for
 * anything else (common practice, no source).
 */
export function voltsIn(text: string): number | null {
  const bare = text.trim().replace(/^[−–]/, "-");
  const [, digits, multiple = ""] = /^(-?(?:\d+|\d*[.,]\d+))\s*([mk]?)V?$/i.exec(bare) ?? [];
  if (digits !== undefined)
    return Number((Number(digits.replace(",", ".")) * (FACTORS[multiple.toLowerCase()] ?? 1)).toPrecision(12));
  const [, whole, part] = /^(-?\d+)V(\d+)$/i.exec(bare) ?? [];
  return whole === undefined ? null : Number(`${whole}.${part}`);
}
