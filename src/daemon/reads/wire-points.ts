import type { WireCapturePoints } from "../../../shared/wire-job.ts";
import type { CapturePoints } from "../../capture/capture-points.ts";
import type { Summary, ValueSummary } from "../../capture/capture-summary.ts";

/** A capture's points as the page gets them: lists, since there are thousands of them. */
export const wirePoints = (capture: string, { beginsMs, endsMs, feeds }: CapturePoints): WireCapturePoints => ({
  capture,
  beginsMs,
  endsMs,
  feeds: [...feeds].map(([feed, points]) => ({
    feed,
    atMs: points.map((each) => each.fromMs),
    untilMs: points.map((each) => each.toMs),
    count: points.map((each) => each.n),
    volts: levelsOf(points, ({ volts }) => volts),
    amps: levelsOf(points, ({ amps }) => amps),
  })),
});

function levelsOf(points: readonly Summary[], of: (point: Summary) => ValueSummary) {
  const listed = (value: (summary: ValueSummary) => number): (number | null)[] =>
    points.map((each) => (of(each).n === 0 ? null : value(of(each))));
  return {
    least: listed((each) => each.least),
    most: listed((each) => each.most),
    mean: listed((each) => each.sum / each.n),
  };
}
