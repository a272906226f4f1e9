import { type PlotMark, type PlotPane, type PlotSeries, reachOf, shownPart } from "./plot-series.ts";
import { isWhole, type Span } from "./plot-span.ts";
import { inSteps, roundStep, timeStep } from "./round-step.ts";

export interface PlotColours {
  /** One a look. */
  lines: readonly string[];
  limit: string;
  set: string;
  band: string;
  ink: string;
  soft: string;
  hair: string;
  line: string;
}

export interface PlotSize {
  /** One rem, and pixels of the screen to one of the page. */
  rem: number;
  ratio: number;
}

/** Told apart without colour: each look has a dash of its own. */
export const DASHES: readonly (readonly number[])[] = [[], [9, 4], [2, 3], [12, 3, 2, 3]];
const FONT_REM = 0.8;
const [LEFT_EM, RIGHT_EM, BOTTOM_EM, TOP_EM] = [4.4, 0.6, 1.7, 0.3];

/** The beginning and the end of the time axis across a plot, pixels of the page. */
export const axisEnds = (width: number, rem: number): { left: number; right: number } => ({
  left: LEFT_EM * FONT_REM * rem,
  right: width - RIGHT_EM * FONT_REM * rem,
});

interface Axes {
  context: CanvasRenderingContext2D;
  x: (seconds: number) => number;
  y: (value: number) => number;
  left: number;
  right: number;
  top: number;
  bottom: number;
  ratio: number;
  font: number;
}

/** Draws one pane: hatched where nothing belongs, the band of good boards, then axes, marks and lines. */
export function drawPane(
  canvas: HTMLCanvasElement,
  { pane, span, whole, marks }: { pane: PlotPane; span: Span; whole: Span; marks: readonly PlotMark[] },
  colours: PlotColours,
  { rem, ratio }: PlotSize,
): void {
  const context = canvas.getContext("2d");
  if (context === null) return;
  const { width, height } = canvas;
  const font = FONT_REM * rem * ratio;
  const [left, right] = [LEFT_EM * font, width - RIGHT_EM * font];
  const [top, bottom] = [TOP_EM * font, height - BOTTOM_EM * font];
  const reach = reachOf(pane, span, isWhole(span, whole));
  const axes: Axes = {
    context,
    x: (seconds) => left + ((seconds - span.from) / (span.to - span.from)) * (right - left),
    y: (value) => bottom - ((value - reach.low) / (reach.high - reach.low)) * (bottom - top),
    left,
    right,
    top,
    bottom,
    ratio,
    font,
  };
  context.setLineDash([]);
  context.clearRect(0, 0, width, height);
  context.font = `${font}px system-ui, sans-serif`;
  drawScales(axes, { unit: pane.unit, reach, span }, colours);
  context.save();
  context.beginPath();
  context.rect(left, 0, right - left, height);
  context.clip();
  if (pane.band !== null) drawBand(axes, pane.band, colours);
  drawForbidden(axes, pane, span, colours);
  drawMarks(axes, marks, colours);
  drawBounds(axes, pane, span, colours);
  for (const series of pane.series) drawSeries(axes, series, span, colours);
  context.restore();
}

function drawScales(
  { context, x, y, left, right, top, bottom, ratio, font }: Axes,
  { unit, reach, span }: { unit: string; reach: { low: number; high: number }; span: Span },
  colours: PlotColours,
): void {
  context.fillStyle = colours.soft;
  context.textBaseline = "middle";
  context.textAlign = "right";
  const rise = roundStep(reach.high - reach.low, (bottom - top) / (3.2 * font));
  for (let value = Math.ceil(reach.low / rise) * rise; value <= reach.high; value += rise) {
    line(context, colours.hair, ratio, [ratio, 5 * ratio], [left, y(value), right, y(value)]);
    context.fillText(`${inSteps(value, rise)} ${unit}`, left - 0.5 * font, y(value));
  }
  context.textBaseline = "alphabetic";
  context.textAlign = "center";
  const step = timeStep(span.to - span.from, (right - left) / (6 * font));
  for (let seconds = Math.ceil(span.from / step) * step; seconds <= span.to; seconds += step)
    context.fillText(timeText(seconds, step), Math.min(right - 1.2 * font, x(seconds)), bottom + 1.3 * font);
}

/** Seconds of a run as the axis names them: "2.5 s", "12 min", "3 h". */
function timeText(seconds: number, step: number): string {
  if (step >= 3600) return `${inSteps(seconds / 3600, step / 3600)} h`;
  if (step >= 60) return `${inSteps(seconds / 60, step / 60)} min`;
  if (step < 0.01) return `${inSteps(seconds * 1000, step * 1000)} ms`;
  return `${inSteps(seconds, step)} s`;
}

function drawBand(
  { context, y, left, right }: Axes,
  { low, high }: { low: number; high: number },
  colours: PlotColours,
): void {
  context.fillStyle = colours.band;
  context.fillRect(left, y(high), right - left, Math.max(1, y(low) - y(high)));
}

/** Above the bound in force nothing belongs. */
function drawForbidden(
  { context, x, y, top, bottom, ratio }: Axes,
  pane: PlotPane,
  span: Span,
  colours: PlotColours,
): void {
  for (const { fromSeconds, untilSeconds, most } of pane.bounds) {
    const [from, until] = [x(Math.max(span.from, fromSeconds)), x(Math.min(span.to, untilSeconds ?? span.to))];
    if (most === null || until <= from || y(most) <= top) continue;
    context.save();
    context.beginPath();
    context.rect(from, top, until - from, Math.min(bottom, y(most)) - top);
    context.clip();
    context.globalAlpha = 0.25;
    context.strokeStyle = colours.limit;
    context.lineWidth = ratio;
    context.setLineDash([]);
    context.beginPath();
    const [foot, high] = [y(most), bottom - top];
    for (let at = from - high; at < until; at += 9 * ratio) {
      context.moveTo(at, foot);
      context.lineTo(at + high, foot - high);
    }
    context.stroke();
    context.restore();
  }
}

function drawMarks(
  { context, x, right, left, top, bottom, ratio, font }: Axes,
  marks: readonly PlotMark[],
  colours: PlotColours,
): void {
  context.textBaseline = "top";
  context.textAlign = "left";
  let free = left;
  for (const { seconds, name, kind } of marks) {
    const at = x(seconds);
    if (at < left - 1 || at > right) continue;
    const colour = kind === "cut" ? colours.limit : kind === "note" ? colours.ink : colours.line;
    line(context, colour, kind === "stage" ? ratio : 2 * ratio, kind === "note" ? [3 * ratio, 3 * ratio] : [], [
      at,
      top,
      at,
      bottom,
    ]);
    const text = kind === "cut" ? `✕ ${name}` : kind === "note" ? `✎ ${name}` : name;
    // Stages of a few milliseconds lie on top of each other: a name that has no room is left out; where it was cut is always said.
    if (name === "" || (kind !== "cut" && (at < free || at + context.measureText(text).width > right))) continue;
    const wide = context.measureText(text).width + 0.3 * font;
    const from = Math.min(at + 0.3 * font, right - wide);
    context.fillStyle = kind === "stage" ? colours.soft : colour;
    context.fillText(text, from, kind === "cut" ? top + 1.2 * font : top);
    free = from + wide + font;
  }
}

function drawBounds({ context, x, y, ratio }: Axes, pane: PlotPane, span: Span, colours: PlotColours): void {
  for (const { fromSeconds, untilSeconds, most, set } of pane.bounds) {
    const [from, until] = [x(fromSeconds), x(untilSeconds ?? span.to)];
    if (most !== null)
      line(context, colours.limit, 2.5 * ratio, [9 * ratio, 6 * ratio], [from, y(most), until, y(most)]);
    if (set !== null) line(context, colours.set, 1.5 * ratio, [2 * ratio, 4 * ratio], [from, y(set), until, y(set)]);
  }
}

function drawSeries(axes: Axes, series: PlotSeries, span: Span, colours: PlotColours): void {
  const { context, x, y, ratio, left, right } = axes;
  const [first, end] = shownPart(series, span);
  const { seconds, mean, least, most } = series;
  const colour = colours.lines[series.look % colours.lines.length] ?? colours.ink;
  if (least !== undefined && most !== undefined) {
    context.globalAlpha = 0.3;
    context.strokeStyle = colour;
    context.lineWidth = Math.max(ratio, (right - left) / Math.max(1, end - first));
    context.setLineDash([]);
    context.beginPath();
    for (let at = first; at < end; at++) {
      const [low, high] = [least[at], most[at]];
      if (low == null || high == null) continue;
      context.moveTo(x(seconds[at] ?? 0), y(low));
      context.lineTo(x(seconds[at] ?? 0), y(high) - 1);
    }
    context.stroke();
    context.globalAlpha = 1;
  }
  context.strokeStyle = colour;
  context.lineWidth = 2.5 * ratio;
  context.lineJoin = "round";
  context.setLineDash((DASHES[series.look % DASHES.length] ?? []).map((each) => each * ratio));
  context.beginPath();
  let isDown = false;
  const dense = end - first > 2 * (right - left);
  for (let at = first; at < end; at++) {
    const value = mean[at];
    if (value == null) {
      isDown = false;
      continue;
    }
    const across = x(seconds[at] ?? 0);
    if (!isDown) context.moveTo(across, y(value));
    else if (dense) at = throughColumn(axes, series, { at, end, across });
    else context.lineTo(across, y(value));
    isDown = true;
  }
  context.stroke();
}

/** Many points in one column of pixels: a line from their least to their greatest says all of them. Answers with the last of them. */
function throughColumn(
  { context, x, y }: Axes,
  { seconds, mean }: PlotSeries,
  of: { at: number; end: number; across: number },
): number {
  let { at } = of;
  let [low, high] = [mean[at] ?? 0, mean[at] ?? 0];
  for (; at + 1 < of.end && x(seconds[at + 1] ?? 0) < of.across + 1; at++) {
    const value = mean[at + 1];
    if (value == null) break;
    if (value < low) low = value;
    if (value > high) high = value;
  }
  context.lineTo(of.across, y(low));
  context.lineTo(of.across, y(high));
  context.lineTo(of.across, y(mean[at] ?? 0));
  return at;
}

function line(
  context: CanvasRenderingContext2D,
  colour: string,
  width: number,
  dash: number[],
  [x1, y1, x2, y2]: [number, number, number, number],
): void {
  context.strokeStyle = colour;
  context.lineWidth = width;
  context.setLineDash(dash);
  context.beginPath();
  context.moveTo(x1, y1);
  context.lineTo(x2, y2);
  context.stroke();
}
