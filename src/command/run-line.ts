import type { FeedReading } from "../../shared/reading.ts";

export interface RunLine {
  stage: string;
  feed: string | null;
  waitingFor: string;
  waitedMs: number;
  /** null: nobody knows how long it lasts. */
  expectedMs: number | null;
  /** The last reading of each feed that is on, or that has volts though it is off. */
  readings: readonly FeedReading[];
}

const seconds = (ms: number): string => (ms / 1000).toFixed(1);

function figures(reading: FeedReading, digits: number): string {
  const { feed, volts, amps, mode } = reading;
  const v = volts.kind === "value" ? `${volts.volts.toFixed(digits)} V` : `${volts.kind} V`;
  const a = amps.kind === "value" ? `${amps.amps.toFixed(digits)} A` : `${amps.kind} A`;
  // Held at the limit is what one must not miss; regulating the volts is the rule.
  return `${feed} ${v} ${a}${mode === "cc" ? " AT THE LIMIT" : ""}`;
}

/**
 * What a run does now on one line of at most `width` characters: the stage, how long it has lasted of how long at most, the
 * figures of what is on, and what is waited for as far as there is room. The figures give way last.
 */
export function runLine(line: RunLine, width: number): string {
  const waited = seconds(Math.max(0, line.waitedMs));
  const head = `${line.stage}${line.feed === null ? "" : ` ${line.feed}`} ${waited}${line.expectedMs === null ? "" : `/${seconds(line.expectedMs)}`} s`;
  const withFigures = (digits: number): string =>
    [head, ...line.readings.map((each) => figures(each, digits))].join("  ");
  const full = `${withFigures(3)}  ${line.waitingFor}`;
  if (full.length <= width) return full;
  const text = [withFigures(3), withFigures(2)].find((each) => each.length <= width);
  return text ?? `${withFigures(2).slice(0, width - 1)}…`;
}
