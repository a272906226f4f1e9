/** One command of a line: its header without a leading colon, whether it is a query, its parameters. */
export interface MessageUnit {
  header: string;
  query: boolean;
  parameters: string[];
}

/** Splits at a character outside quotes and brackets. */
export function splitOutside(text: string, at: string): string[] {
  if (!/["'(]/.test(text)) return text.split(at);
  const parts: string[] = [];
  let quote = "";
  let depth = 0;
  let part = "";
  for (const char of text) {
    if (quote !== "") {
      if (char === quote) quote = "";
    } else if (char === '"' || char === "'") quote = char;
    else if (char === "(") depth += 1;
    else if (char === ")") depth -= 1;
    if (char === at && quote === "" && depth <= 0) {
      parts.push(part);
      part = "";
    } else part += char;
  }
  parts.push(part);
  return parts;
}

/**
 * Reads a program message: units joined by `;`. A unit that starts with `:` counts from the root; any other from where
 * the last one stood (IEEE 488.2 and SCPI-1999 volume 1, 6.2.4, from memory); common commands leave that place alone.
 */
export function messageUnits(line: string): MessageUnit[] {
  const units: MessageUnit[] = [];
  let path = "";
  for (const raw of splitOutside(line, ";")) {
    const text = raw.trim();
    if (text === "") continue;
    const space = text.search(/\s/);
    const head = space < 0 ? text : text.slice(0, space);
    const tail = space < 0 ? "" : text.slice(space).trim();
    const query = head.endsWith("?");
    const bare = query ? head.slice(0, -1) : head;
    const parameters = tail === "" ? [] : splitOutside(tail, ",").map((each) => each.trim());
    if (bare.startsWith("*")) {
      units.push({ header: bare.toUpperCase(), query, parameters });
      continue;
    }
    const header = bare.startsWith(":") ? bare.slice(1) : path + bare;
    const last = header.lastIndexOf(":");
    path = last < 0 ? "" : header.slice(0, last + 1);
    units.push({ header, query, parameters });
  }
  return units;
}
