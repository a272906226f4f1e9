/** Splits at `separator` wherever it stands outside quotes. */
function splitOutsideQuotes(text: string, separator: string): string[] {
  const parts: string[] = [];
  let quote = "";
  let start = 0;
  for (let at = 0; at < text.length; at++) {
    const character = text[at];
    if (quote !== "") {
      // A doubled quote closes and opens again, which comes to the same.
      if (character === quote) quote = "";
    } else if (character === '"' || character === "'") {
      quote = character;
    } else if (character === separator) {
      parts.push(text.slice(start, at).trim());
      start = at + 1;
    }
  }
  parts.push(text.slice(start).trim());
  return parts;
}

/** The replies of one line to several queries: split at `;` outside quotes (IEEE 488.2, 8.4.1), trimmed. */
export function splitReplies(line: string): string[] {
  return splitOutsideQuotes(line, ";");
}

/** The values of one reply: split at `,` outside quotes, trimmed. */
export function splitValues(reply: string): string[] {
  return splitOutsideQuotes(reply, ",");
}

/**
 * Joins messages to one line. Each after the first is written from the root (`:VOLT?`), as `;` alone would stay in the
 * branch of the message before it; common commands (`*OPC?`) take no colon.
 */
export function joinMessages(messages: readonly string[]): string {
  return messages
    .map((message, index) =>
      index === 0 || message.startsWith("*") || message.startsWith(":") ? message : `:${message}`,
    )
    .join(";");
}
