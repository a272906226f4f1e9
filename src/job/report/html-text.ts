import { visibleText } from "./visible-text.ts";

/** Text that is markup already and is not escaped again; only `html` makes it. */
export class Markup {
  readonly text: string;
  constructor(text: string) {
    this.text = text;
  }
}

export type HtmlValue = string | number | Markup | null | undefined | readonly HtmlValue[];

const ESCAPES: Record<string, string> = { "&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;", "'": "&#39;" };

function valueText(value: HtmlValue): string {
  if (value === null || value === undefined) return "";
  if (value instanceof Markup) return value.text;
  if (typeof value === "object") return value.map(valueText).join("");
  return visibleText(String(value)).replace(/[&<>"']/g, (each) => ESCAPES[each] ?? each);
}

/**
 * Markup from a template. Every value put into it is escaped for text and for quoted attributes, and control characters
 * are made visible; lists are joined; null is nothing.
 */
export function html(parts: TemplateStringsArray, ...values: HtmlValue[]): Markup {
  return new Markup(parts.reduce((text, part, index) => text + valueText(values[index - 1]) + part));
}
