import type { ColdReadings } from "../../../shared/permit.ts";
import { OHMS_EXAMPLES, ohmsIn } from "../../../shared/words/ohms-text.ts";
import { say } from "../../words/job.ts";

export type ColdParse = { ok: true; cold: ColdReadings } | { ok: false; because: string };

/**
 * Cold readings as they are typed, one a line: `aux = 12.4k`, `aux:core = 3.1k`, `slot12 = open`. Empty lines are
 * nothing; a point named twice, or anything else, is refused with its line.
 */
export function parseCold(text: string): ColdParse {
  const cold: ColdReadings = {};
  for (const line of text.split("\n").map((each) => each.trim())) {
    if (line === "") continue;
    const [, point, value] = /^([A-Za-z0-9_.-]+(?::[A-Za-z0-9_.-]+)?)\s*=\s*(.+)$/.exec(line) ?? [];
    const ohms = value === undefined ? null : ohmsIn(value);
    if (point === undefined || ohms === null) {
      return {
        ok: false,
        because: say("cold.line", { line, examples: OHMS_EXAMPLES }),
      };
    }
    if (Object.hasOwn(cold, point)) return { ok: false, because: say("cold.twice", { point }) };
    cold[point] = ohms;
  }
  return { ok: true, cold };
}
