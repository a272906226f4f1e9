const OPEN = /^(?:open|ol|0l|o\.l|0\.l|∞|inf)$/i;
const FACTORS: Record<string, number> = { "": 1, R: 1, r: 1, m: 1e-3, k: 1e3, K: 1e3, M: 1e6, G: 1e9 };
/** A number with a point or a comma, then its multiple. */
const PLAIN = /^(\d+|\d*[.,]\d+)\s*([RrmkKMG]?)$/;
/** A letter in the place of the decimal point. */
const LETTER = /^(\d*)([RrmkKMG])(\d+)$/;
/** The mark between thousands: English writes 12,000, German 12.000. */
const TWO_WAYS = /^[1-9]\d{0,2},\d{3}$/;

/**
 * Ohms as a technician writes them; null for anything else. A multiple behind the number (`12.4k`, `12,4 kΩ`, `.5`), or a letter in the
 * place of the decimal point (`12k4`, `4R7`, `R35`: IEC 60062, clause on resistance values; `m` for milli is common practice, no source).
 * Open is `open`, `∞`, or what a meter shows (`OL`, `0L`). `12,400` is null: it reads as two values.
 */
export function ohmsIn(text: string): number | "open" | null {
  const bare = text.trim().replace(/\s*(?:[\u03a9\u2126]|ohms?)$/i, "");
  if (OPEN.test(bare)) return "open";
  if (TWO_WAYS.test(bare)) return null;
  const [, digits, multiple] = PLAIN.exec(bare) ?? [];
  if (digits !== undefined) return times(digits.replace(",", "."), multiple);
  const [, whole = "", letter, part] = LETTER.exec(bare) ?? [];
  return part === undefined ? null : times(`${whole === "" ? "0" : whole}.${part}`, letter);
}

/** The ways to write ohms, for the sentence that refuses something else. */
export const OHMS_EXAMPLES = "12.4k, 12k4, 4R7, 0.35, 2M or open";

// Through text, so that 12.4k is 12400 and not 12400.000000000002.
const times = (digits: string, multiple = ""): number =>
  Number((Number(digits) * (FACTORS[multiple] ?? 1)).toPrecision(12));
