import type { FeedReading } from "../../../shared/reading.ts";

export interface RunLine {
  stage: string;
  feed: string | null;
  waitingFor: string;
  waitedMs: number;
  /** null: not known how long it lasts. */
  expectedMs: number | null;
  /** The last reading of each feed that is on, or that has volts though it is off. */
  readings: readonly FeedReading[];
}

/** Tenths matter in the stages that last a second, not in a long watch. */
const seconds = (ms: number, most: number): string => (ms / 1000).toFixed(most >= 100_000 ? 0 : 1);

interface Look {
  digits: number;
  gap: string;
}
const LOOKS: readonly Look[] = [
  { digits: 3, gap: " " },
  { digits: 2, gap: " " },
  { digits: 2, gap: "" },
];

function figures(reading: FeedReading, { digits, gap }: Look): string {
  const { feed, volts, amps, mode } = reading;
  const v = volts.kind === "value" ? `${volts.volts.toFixed(digits)}${gap}V` : `${volts.kind} V`;
  const a = amps.kind === "value" ? `${amps.amps.toFixed(digits)}${gap}A` : `${amps.kind} A`;
  // Held at the limit is what one must not miss; regulating the volts is the rule.
  return `${feed} ${v} ${a}${mode === "cc" ? " AT LIMIT" : ""}`;
}

/**
 * The state of a run on one line of at most `width` characters: the stage, how long it has lasted of how long at most, the
 * figures of what is on, and what is waited for where there is room. The figures give way last.
 */
export function runLine(line: RunLine, width: number): string {
  const most = line.expectedMs ?? line.waitedMs;
  const ofAtMost = line.expectedMs === null ? "" : `/${seconds(line.expectedMs, most)}`;
  const head = `${line.stage}${line.feed === null ? "" : ` ${line.feed}`} ${seconds(Math.max(0, line.waitedMs), most)}${ofAtMost} s`;
  const texts = LOOKS.map((look) => [head, ...line.readings.map((each) => figures(each, look))].join("  "));
  const full = `${texts[0]}  ${line.waitingFor}`;
  const fits = [full, ...texts].find((each) => each.length <= width);
  return fits ?? `${(texts.at(-1) ?? "").slice(0, width - 1)}…`;
}
