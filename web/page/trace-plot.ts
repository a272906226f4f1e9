import type { WireSetting } from "../../shared/wire.ts";
import { reach, roundStep } from "./trace-axis.ts";

export interface PlotColours {
  trace: string;
  limit: string;
  set: string;
  soft: string;
  hair: string;
  line: string;
}

export interface PlotInput {
  seconds: readonly number[];
  values: readonly (number | null)[];
  /** In force, as they were read back; of the feed that is drawn. */
  settings: readonly WireSetting[];
  /** Which bound of a setting nothing may go above. */
  bound: "limitAmps" | "overVolts";
  /** Also the volts that were set, as a dotted line. */
  showsSet: boolean;
  unit: string;
  /** The axis reaches at least so far. */
  least: number;
  /** Where each stage began, seconds, with its name; empty names are lines only. */
  stages: readonly { seconds: number; name: string }[];
}

/** Draws one quantity of a run over its seconds: hatched where nothing belongs, then the lines. `ratio` is device pixels to one of the page. */
export function drawPlot(
  canvas: HTMLCanvasElement,
  input: PlotInput,
  colours: PlotColours,
  rem: number,
  ratio: number,
): void {
  const context = canvas.getContext("2d");
  if (context === null) return;
  const { width, height } = canvas;
  const font = 0.8 * rem * ratio;
  const [left, bottom, top] = [4.2 * font, height - 1.7 * font, 0.3 * font];
  const { low, high } = reach(input);
  const last = Math.max(2, input.seconds.at(-1) ?? 0, ...input.settings.map((each) => (each.untilMs ?? 0) / 1000));
  const x = (seconds: number): number => left + (seconds / last) * (width - left - 0.5 * font);
  const y = (value: number): number => bottom - ((value - low) / (high - low)) * (bottom - top);
  context.clearRect(0, 0, width, height);
  context.font = `${font}px system-ui, sans-serif`;

  for (const span of input.settings) {
    const most = span[input.bound];
    const [from, until] = [x(span.fromMs / 1000), x(span.untilMs === null ? last : span.untilMs / 1000)];
    if (most === null || until <= from) continue;
    context.save();
    context.beginPath();
    context.rect(from, top, until - from, y(most) - top);
    context.clip();
    context.globalAlpha = 0.25;
    context.strokeStyle = colours.limit;
    context.lineWidth = ratio;
    context.beginPath();
    for (let at = from - height; at < until; at += 9 * ratio) {
      context.moveTo(at, y(most));
      context.lineTo(at + height, y(most) - height);
    }
    context.stroke();
    context.restore();
  }

  context.textBaseline = "middle";
  context.textAlign = "right";
  const rise = roundStep(high - low, (bottom - top) / (3.2 * font));
  for (let value = Math.ceil(low / rise) * rise; value <= high; value += rise) {
    line(context, colours.hair, ratio, [ratio, 5 * ratio], [left, y(value), width, y(value)]);
    context.fillStyle = colours.soft;
    context.fillText(`${Number(value.toPrecision(6))} ${input.unit}`, left - 0.5 * font, y(value));
  }
  context.textBaseline = "bottom";
  context.textAlign = "center";
  const step = roundStep(last, (width - left) / (6 * font));
  for (let seconds = 0; seconds <= last; seconds += step) {
    context.fillStyle = colours.soft;
    context.fillText(`${Number(seconds.toPrecision(6))} s`, Math.min(width - 1.4 * font, x(seconds)), height);
  }

  context.textBaseline = "top";
  context.textAlign = "left";
  let free = left;
  for (const { seconds, name } of input.stages) {
    const at = x(seconds);
    line(context, colours.line, ratio, [], [at, top, at, bottom]);
    // Stages of a few milliseconds lie on top of each other: a name that has no room is left out.
    if (name === "" || at < free || at + context.measureText(name).width > width) continue;
    context.fillStyle = colours.soft;
    context.fillText(name, at + 0.3 * font, top);
    free = at + context.measureText(name).width + font;
  }

  for (const span of input.settings) {
    const [from, until] = [x(span.fromMs / 1000), x(span.untilMs === null ? last : span.untilMs / 1000)];
    const most = span[input.bound];
    if (most !== null)
      line(context, colours.limit, 2.5 * ratio, [9 * ratio, 6 * ratio], [from, y(most), until, y(most)]);
    if (input.showsSet)
      line(context, colours.set, 1.5 * ratio, [2 * ratio, 4 * ratio], [from, y(span.volts), until, y(span.volts)]);
  }
  context.strokeStyle = colours.trace;
  context.lineWidth = 2.5 * ratio;
  context.lineJoin = "round";
  context.setLineDash([]);
  context.beginPath();
  let isDown = false;
  input.values.forEach((value, index) => {
    const seconds = input.seconds[index];
    if (value === null || seconds === undefined) isDown = false;
    else {
      if (isDown) context.lineTo(x(seconds), y(value));
      else context.moveTo(x(seconds), y(value));
      isDown = true;
    }
  });
  context.stroke();
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
