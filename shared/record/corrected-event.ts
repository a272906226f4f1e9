import { HostTest } from "./host-test.ts";
import type { CorrectableEvent } from "./job.ts";

/** The part of an entry that a person writes anew, of a test its result; null for an entry that is put right in another way. */
export function wordsOf(event: CorrectableEvent): string | null {
  switch (event.kind) {
    case "note":
    case "repair":
      return event.text;
    case "opened":
      return event.title ?? "";
    case "attachment":
      return event.caption ?? "";
    case "answer":
      return event.answer;
    case "test":
      return event.test.result;
    default:
      return null;
  }
}

/** The entry with these words in place of its own; null where it cannot have them. */
export function withWords(event: CorrectableEvent, words: string): CorrectableEvent | null {
  switch (event.kind) {
    case "note":
    case "repair":
      return { ...event, text: words };
    case "opened":
      return { ...event, title: words.slice(0, 200) };
    case "attachment":
      return { ...event, caption: words.slice(0, 200) };
    case "answer":
      return words === "" ? null : { ...event, answer: words };
    case "test": {
      const result = HostTest.shape.result.safeParse(words);
      return result.success ? { ...event, test: { ...event.test, result: result.data } } : null;
    }
    default:
      return null;
  }
}
