import type { RecordedRun } from "../../shared/record/recording.ts";

/** More rows than the record keeps of one file are thinned evenly; a start is still seen in them. */
const MOST_ROWS = 250_000;
const FIGURES = 6;

/**
 * A recorder's record as a trace with columns: `time_s` from its trigger, volts by their point's name, so that it reads as any trace of a
 * start, amps as "POINT amps".
 */
export function recordingCsv({ firstMs, stepMs, channels }: RecordedRun): string {
  const rows = Math.min(...channels.map((each) => each.values.length));
  const every = Math.ceil(rows / MOST_ROWS);
  const lines = [
    ["time_s", ...channels.map(({ of }) => (of.reads === "volts" ? of.point : `${of.point} amps`))].join(","),
  ];
  for (let i = 0; i < rows; i += every) {
    const seconds = (firstMs + i * stepMs) / 1000;
    lines.push([seconds.toPrecision(9), ...channels.map(({ values }) => figure(values[i] ?? Number.NaN))].join(","));
  }
  return `${lines.join("\n")}\n`;
}

const figure = (value: number): string => String(Number(value.toPrecision(FIGURES)));
