import { BenchError, quoted } from "../../shared/bench-error.ts";
import { type ErrorEntry, parseErrorEntry } from "../scpi/error-entry.ts";
import type { Turn } from "./turn.ts";

const MOST_ENTRIES = 32;

/**
 * Takes every entry from the error queue, oldest first; empty where all is well, or where the family has no queue.
 * Throws BenchError "bad-reply" on an answer that is no entry, and where 32 entries did not empty it.
 */
export async function drainErrors(
  turn: Turn,
  options: { name: string; askError: string | null },
): Promise<ErrorEntry[]> {
  if (options.askError === null) return [];
  const entries: ErrorEntry[] = [];
  for (let each = 0; each < MOST_ENTRIES; each++) {
    const { text } = await turn.query(options.askError);
    const entry = parseErrorEntry(text);
    if (entry === undefined) {
      throw new BenchError(
        "bad-reply",
        `Cannot read the error queue of "${options.name}": the reply was ${quoted(text)}; it should be a code and a text`,
        { instrument: options.name },
      );
    }
    if (entry.code === 0) return entries;
    entries.push(entry);
  }
  throw new BenchError(
    "bad-reply",
    `Cannot empty the error queue of "${options.name}": ${MOST_ENTRIES} entries were read and it is still not empty; the last was ${entries.at(-1)?.code}`,
    { instrument: options.name },
  );
}

/** The entries as words: `-222 "Data out of range"`. */
export function errorsInWords(entries: readonly ErrorEntry[]): string {
  return entries.map((each) => `${each.code} ${quoted(each.text)}`).join(", ");
}
