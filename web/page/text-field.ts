const WRITES = new Set(["text", "search", "email", "number", "url", "tel", "password"]);

/** True where a key writes: in a text field, also within a part of the page. */
export function isTextField(target: EventTarget | undefined): boolean {
  if (target instanceof HTMLTextAreaElement || target instanceof HTMLSelectElement) return true;
  return target instanceof HTMLInputElement && WRITES.has(target.type);
}
