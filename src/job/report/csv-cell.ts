/**
 * One cell of a CSV file (RFC 4180), quoted. Text that a spreadsheet would run as a formula (it begins with = + - @, a tab or
 * a line end, also after spaces or a quote) gets an apostrophe in front; numbers stay numbers, also negative ones.
 */
export function csvCell(value: string | number): string {
  if (typeof value === "number") return `"${value}"`;
  const safe = /^[\s"']*[=+\-@\t\r\n]/.test(value) ? `'${value}` : value;
  return `"${safe.replaceAll('"', '""')}"`;
}
