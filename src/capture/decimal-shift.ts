/**
 * Moves the decimal point of a number's text by `places` (3 = times 1000) without arithmetic, so that milliseconds
 * written as seconds come back as the same double. Takes what `String(number)` writes and what people write; the answer
 * has no exponent where the number has fewer than 25 digits.
 */
export function shiftedDecimal(text: string, places: number): string {
  const parts = /^([+-]?)(\d*)(?:\.(\d*))?(?:[eE]([+-]?\d+))?$/.exec(text);
  if (parts === null) return text;
  const sign = parts[1] === "-" ? "-" : "";
  const [whole, rest] = [parts[2] ?? "", parts[3] ?? ""];
  const point = whole.length + Number(parts[4] ?? "0") + places;
  const digits = whole + rest;
  if (point < -25 || point > 25) return `${sign}${digits}e${point - digits.length}`;
  const padded = point <= 0 ? "0".repeat(1 - point) + digits : digits.padEnd(point, "0");
  const at = Math.max(point, 1);
  const left = padded.slice(0, at).replace(/^0+(?=\d)/, "");
  const right = padded.slice(at).replace(/0+$/, "");
  return sign + left + (right === "" ? "" : `.${right}`);
}
