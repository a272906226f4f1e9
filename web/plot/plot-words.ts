import { sayAmount } from "../../shared/words/amounts.ts";
import { fixed } from "../views/parts/figures.ts";
import { say } from "../words/plot.ts";
import { local } from "../words/words.ts";
import { type PlotPane, valueAt } from "./plot-series.ts";

/** A moment of a run, as finely as the window shows it. */
export function momentOf(seconds: number, width: number): string {
  if (seconds >= 3600) return `${Math.floor(seconds / 3600)} h ${fixed((seconds % 3600) / 60, 1)} min`;
  return `${fixed(seconds, width < 0.5 ? 4 : width < 20 ? 3 : 1)} s`;
}

/** The value of every line at the cursor: "3.100 s: aux 1.21 A, 12.02 V". */
export function cursorWords(panes: readonly PlotPane[], at: number, width: number): string {
  const names = [...new Set(panes.flatMap((pane) => pane.series.map((each) => each.name)))];
  const read = names.map((name) => {
    const values = panes.flatMap(({ unit, series }) => {
      const own = series.find((each) => each.name === name);
      if (own === undefined) return [];
      const value = valueAt(own, at);
      return [value === null ? say("no-unit", { unit }) : local(sayAmount(value, unit))];
    });
    return `${name} ${values.join(", ")}`;
  });
  return `${momentOf(at, width)}: ${read.join("; ")}`;
}

/** The change between two cursors: the time, and each line's difference with its sign. */
export function differenceWords(panes: readonly PlotPane[], [one, other]: [number, number], width: number): string {
  const [from, to] = one <= other ? [one, other] : [other, one];
  const names = [...new Set(panes.flatMap((pane) => pane.series.map((each) => each.name)))];
  const changed = names.map((name) => {
    const values = panes.flatMap(({ unit, series }) => {
      const own = series.find((each) => each.name === name);
      const [a, b] = own === undefined ? [null, null] : [valueAt(own, from), valueAt(own, to)];
      if (a === null || b === null) return [];
      return [`${b < a ? "−" : "+"}${local(sayAmount(Math.abs(b - a), unit))}`];
    });
    return `${name} ${values.length === 0 ? say("change.none") : values.join(", ")}`;
  });
  return say("change", {
    from: momentOf(from, width),
    later: momentOf(to - from, width),
    changes: changed.join("; "),
  });
}
