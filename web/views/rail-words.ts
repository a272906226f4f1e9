import { sayOhms, saySpan, sayVolts } from "../../shared/amounts.ts";
import type { RailVerdictWord, SweepMotion, SweepRail } from "../../shared/sweep.ts";
import { fixed } from "./figures.ts";

/** A verdict is told by a shape and a word, never by colour alone. */
const RAIL_VERDICTS: Record<RailVerdictWord, { mark: string; word: string; tone: "good" | "open" | "bad" }> = {
  pass: { mark: "✓", word: "pass", tone: "good" },
  "conditional-pass": { mark: "◐", word: "passes within the meter's error", tone: "open" },
  "conditional-fail": { mark: "◑", word: "fails within the meter's error", tone: "open" },
  fail: { mark: "✕", word: "fail", tone: "bad" },
  "not-measured": { mark: "–", word: "not measured", tone: "open" },
};

/** How a value is told: its verdict, or what is said of it instead. */
export function railVerdict({ verdict, said }: SweepRail): (typeof RAIL_VERDICTS)[RailVerdictWord] {
  return said === undefined ? RAIL_VERDICTS[verdict] : { mark: "◌", word: said, tone: "open" };
}

export const MOTIONS: Record<SweepMotion, string> = {
  lifted: "probe lifted",
  touching: "touching",
  moving: "moving",
  rising: "still rising",
  steady: "steady",
  charged: "charged: discharge it first",
};

/** What a line or a rail says in its own quantity: "1.803 V", "350 mΩ", "open"; a dash for no value. */
export function valueText(of: Pick<SweepRail, "volts" | "ohms" | "diodeVolts">): string {
  if (of.ohms !== undefined) return of.ohms === null ? "–" : of.ohms === "open" ? "open" : sayOhms(of.ohms);
  const volts = of.volts ?? of.diodeVolts ?? null;
  return volts === null ? "–" : volts === "open" ? "open" : `${fixed(volts, Math.abs(volts) < 9.995 ? 3 : 2)} V`;
}

/** The expanded uncertainty beside a value; empty where it is not known. */
export function expandedText({ expandedVolts, expandedOhms, mostOhms }: SweepRail): string {
  if (mostOhms !== undefined) return " or more, still rising";
  if (expandedOhms != null) return ` ± ${sayOhms(expandedOhms)}`;
  return expandedVolts == null ? "" : ` ± ${sayVolts(expandedVolts)}`;
}

/** "1.71 V to 1.89 V", "at least 300 Ω", or that it is not known. */
export const limitsText = (limits: [number | null, number | null], unit: string): string =>
  saySpan(limits, unit) ?? "what it should read is not known";
