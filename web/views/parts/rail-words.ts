import type { RailVerdictWord, SweepRail } from "../../../shared/sweep.ts";
import { sayBound, sayOhms, sayVolts } from "../../../shared/words/amounts.ts";
import { say } from "../../words/probe.ts";
import { local } from "../../words/words.ts";
import { fixed } from "./figures.ts";

/** A verdict is told by a shape and a word, never by colour alone. */
const RAIL_VERDICTS: Record<RailVerdictWord, { mark: string; tone: "good" | "open" | "bad" }> = {
  pass: { mark: "✓", tone: "good" },
  "conditional-pass": { mark: "◐", tone: "open" },
  "conditional-fail": { mark: "◑", tone: "open" },
  fail: { mark: "✕", tone: "bad" },
  "not-measured": { mark: "–", tone: "open" },
};

/** The words for a value: its verdict, or what is said of it instead. */
export function railVerdict({ verdict, said, group, across }: SweepRail): {
  mark: string;
  word: string;
  tone: "good" | "open" | "bad";
} {
  // A point of a group has no value of its own that it should read, nor has a part.
  if (verdict !== "not-measured" && group !== undefined)
    return { mark: "•", word: say("verdict.grouped"), tone: "open" };
  if (verdict !== "not-measured" && across !== undefined)
    return { mark: "•", word: say("verdict.part", { rail: across.rail }), tone: "open" };
  return said === undefined
    ? { ...RAIL_VERDICTS[verdict], word: say(`verdict.${verdict}`) }
    : { mark: "◌", word: said, tone: "open" };
}

/** The value of a line or a rail in its own quantity: "1.803 V", "350 mΩ", "open"; a dash for no value. */
export function valueText(of: Pick<SweepRail, "volts" | "ohms" | "diodeVolts">): string {
  if (of.ohms !== undefined) return of.ohms === null ? "–" : of.ohms === "open" ? say("open") : local(sayOhms(of.ohms));
  const volts = of.volts ?? of.diodeVolts ?? null;
  return volts === null ? "–" : volts === "open" ? say("open") : `${fixed(volts, Math.abs(volts) < 9.995 ? 3 : 2)} V`;
}

/** The expanded uncertainty beside a value; empty where it is not known. */
export function expandedText({ expandedVolts, expandedOhms, mostOhms }: SweepRail): string {
  if (mostOhms !== undefined) return say("or-more");
  if (expandedOhms != null) return local(` ± ${sayOhms(expandedOhms)}`);
  return expandedVolts == null ? "" : local(` ± ${sayVolts(expandedVolts)}`);
}

/** "1.71 V to 1.89 V", "at least 300 Ω", or that it is not known. */
export function limitsText([least, most]: [number | null, number | null], unit: string): string {
  const from = least === null ? "" : local(sayBound(least, unit, "lowest"));
  const to = most === null ? "" : local(sayBound(most, unit, "highest"));
  if (least === null) return most === null ? say("limits.unknown") : say("at-most", { most: to });
  return most === null ? say("at-least", { least: from }) : say("span", { least: from, most: to });
}
