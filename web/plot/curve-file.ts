import { say } from "../words/plot.ts";
import type { PlotPane, PlotSeries } from "./plot-series.ts";

/** The curves in a table of numbers over time, or the reason why there are none. */
export type Curve = { ok: true; panes: PlotPane[]; from: number; to: number } | { ok: false; because: string };

const TIME_SCALES: Record<string, number> = { ms: 1e-3, us: 1e-6, µs: 1e-6, ns: 1e-9, min: 60 };
/** 9.9E37 and 9.91E37 are infinity and not-a-number of SCPI-1999 (vol. 1, 7.2.1.4-5). */
const NO_READING_FROM = 9e37;
const MOST_POINTS = 4_000;
const HEAD_LINES = 200;

/**
 * Reads a table as oscilloscopes and loggers write it: lines of settings, perhaps a line of names, then rows of numbers whose first column, or the
 * one named for time, is the time. Each unit has an axis of its own; of many rows a point stands for several, with their least and greatest.
 */
export function curveIn(text: string): Curve {
  const lines = text.split(/\r?\n/);
  const head = lines.slice(0, HEAD_LINES);
  const delimiter = [";", "\t", ","].find((each) => head.some((line) => numbersOf(line, each).length > 1));
  if (delimiter === undefined) return { ok: false, because: say("file.no-rows") };
  const first = head.findIndex((line) => numbersOf(line, delimiter).length > 1);
  const width = (lines[first] ?? "").split(delimiter).length;
  const named = head.slice(0, first).findLast((line) => line.split(delimiter).length >= width);
  const names = Array.from(
    { length: width },
    (_, at) => bare(named?.split(delimiter)[at] ?? "") || say("file.column", { number: at + 1 }),
  );
  const timeAt = Math.max(
    0,
    names.findIndex((name) => /^(time|t|x-axis|second)/i.test(name)),
  );
  const scale = TIME_SCALES[/[([_ ](ms|us|µs|ns|min)[)\]]?$/i.exec(names[timeAt] ?? "")?.[1]?.toLowerCase() ?? ""] ?? 1;
  const seconds: number[] = [];
  const columns: (number | null)[][] = names.map(() => []);
  for (const line of lines.slice(first)) {
    const cells = line.split(delimiter);
    const at = numberIn(cells[timeAt], delimiter);
    if (at === null) continue;
    if (at * scale < (seconds.at(-1) ?? Number.NEGATIVE_INFINITY))
      return { ok: false, because: say("file.goes-back", { column: names[timeAt] ?? "" }) };
    seconds.push(at * scale);
    for (const [place, column] of columns.entries()) column.push(numberIn(cells[place], delimiter));
  }
  const drawn = names.flatMap((name, place) =>
    place !== timeAt && columns[place]?.some((each) => each !== null) ? [{ name, values: columns[place] ?? [] }] : [],
  );
  if (seconds.length < 2 || drawn.length === 0) return { ok: false, because: say("file.no-numbers") };
  const units = [...new Set(drawn.map(({ name }) => unitOf(name)))].slice(0, 4);
  const panes = units.map((unit, index): PlotPane => {
    const series = drawn
      .filter(({ name }) => unitOf(name) === unit)
      .map(({ name, values }, look) => thinned({ name, seconds, mean: values, look }));
    return { id: `curve${index}`, unit, least: 1e-6, series, bounds: [], band: null };
  });
  return { ok: true, panes, from: seconds[0] ?? 0, to: seconds.at(-1) ?? 1 };
}

const bare = (cell: string): string =>
  cell
    .trim()
    .replace(/^"(.*)"$/, "$1")
    .slice(0, 40);

function numberIn(cell: string | undefined, delimiter: string): number | null {
  const text = bare(cell ?? "");
  const value = text === "" ? Number.NaN : Number(delimiter === ";" ? text.replace(",", ".") : text);
  return Number.isFinite(value) && Math.abs(value) < NO_READING_FROM ? value : null;
}

const numbersOf = (line: string, delimiter: string): number[] => {
  const cells = line.split(delimiter);
  const numbers = cells.flatMap((cell) => numberIn(cell, delimiter) ?? []);
  return numbers.length >= Math.max(2, cells.length - 1) ? numbers : [];
};

/** "CH1 (mV)" is in mV, "amps" and "I_A" in A; volts where a name says nothing. */
function unitOf(name: string): string {
  const unit = /[([_ ](m?V|m?A|m?W|Ω|ohms?|°?C|%)[)\]]?$/i.exec(name)?.[1];
  if (unit !== undefined) return unit;
  return /amp|current/i.test(name) ? "A" : "V";
}

function thinned(series: PlotSeries): PlotSeries {
  const { seconds, mean } = series;
  if (seconds.length <= MOST_POINTS) return series;
  const each = Math.ceil(seconds.length / MOST_POINTS);
  const thin: Required<PlotSeries> = { ...series, seconds: [], mean: [], least: [], most: [] };
  const [at, mid, low, high] = [thin.seconds, thin.mean, thin.least, thin.most] as [
    number[],
    (number | null)[],
    (number | null)[],
    (number | null)[],
  ];
  for (let from = 0; from < seconds.length; from += each) {
    const part = mean.slice(from, from + each).filter((value) => value !== null);
    at.push(seconds[Math.min(seconds.length - 1, from + (each >> 1))] ?? 0);
    mid.push(part.length === 0 ? null : part.reduce((sum, value) => sum + value, 0) / part.length);
    low.push(part.length === 0 ? null : Math.min(...part));
    high.push(part.length === 0 ? null : Math.max(...part));
  }
  return thin;
}
