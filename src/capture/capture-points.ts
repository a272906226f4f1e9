import type { Summary } from "./capture-summary.ts";
import { summaryOf } from "./capture-summary.ts";
import { gatherPoints } from "./gather-points.ts";
import { readCapture } from "./read-capture.ts";

/** A capture's points in a window; `beginsMs` and `endsMs` are those of the whole capture, null where it has no reading. */
export interface CapturePoints {
  beginsMs: number | null;
  endsMs: number | null;
  feeds: Map<string, Summary[]>;
}

export interface WantedPoints {
  /** Ends of the window, milliseconds of the run; left out, the ends of the capture. */
  fromMs?: number;
  toMs?: number;
  /** Points a feed at most. */
  most: number;
}

/**
 * The readings of a capture between two times, at most `most` points a feed, each with the least, the greatest and the mean of
 * what it stands for. Throws BenchError "bad-input" where there is no such capture.
 */
export async function capturePoints(
  directory: string,
  captureId: string,
  wanted: WantedPoints,
): Promise<CapturePoints> {
  const { readings } = await readCapture(directory, captureId);
  const beginsMs = readings[0]?.atMs ?? null;
  const endsMs = readings.at(-1)?.atMs ?? null;
  const fromMs = wanted.fromMs ?? beginsMs ?? 0;
  const toMs = wanted.toMs ?? endsMs ?? 0;
  const gathered = gatherPoints({ fromMs, toMs, most: wanted.most });
  for (const reading of readings)
    if (reading.atMs >= fromMs && reading.atMs <= toMs) gathered.take(reading.feed, summaryOf(reading));
  return { beginsMs, endsMs, feeds: gathered.feeds() };
}
