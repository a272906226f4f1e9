import type { ColdReadings } from "../../shared/permit.ts";

export type ColdParse = { ok: true; cold: ColdReadings } | { ok: false; because: string };

/**
 * Cold readings as they are typed, one a line: `aux = 12.4k`, `aux:core = 3.1k`, `slot12 = open`. Ohms take k, M or m and
 * an optional Ω. Empty lines are nothing; a point named twice, or anything else, is refused with its line.
 */
export function parseCold(text: string): ColdParse {
  const cold: ColdReadings = {};
  for (const line of text.split("\n").map((each) => each.trim())) {
    if (line === "") continue;
    const [, point, value] = /^([A-Za-z0-9_.-]+(?::[A-Za-z0-9_.-]+)?)\s*=\s*(.+)$/.exec(line) ?? [];
    const ohms = value === undefined ? null : parseOhms(value);
    if (point === undefined || ohms === null) {
      return { ok: false, because: `"${line}" is no cold reading; write POINT = OHMS, as in aux = 12.4k, or open` };
    }
    if (Object.hasOwn(cold, point)) return { ok: false, because: `"${point}" is there twice; one reading a point` };
    cold[point] = ohms;
  }
  return { ok: true, cold };
}

/** Ohms as they are typed: "12.4k", "0.3 Ω", "open"; null for anything else. */
export function parseOhms(text: string): number | "open" | null {
  if (/^(open|OL)$/i.test(text)) return "open";
  const [, digits, prefix] = /^(\d+(?:\.\d+)?)\s*([kKMm]?)\s*(?:Ω|ohms?)?$/.exec(text) ?? [];
  if (digits === undefined) return null;
  const factor = prefix === "k" || prefix === "K" ? 1e3 : prefix === "M" ? 1e6 : prefix === "m" ? 1e-3 : 1;
  // Through text, so that 12.4k is 12400 and not 12400.000000000002.
  return Number((Number(digits) * factor).toPrecision(12));
}
