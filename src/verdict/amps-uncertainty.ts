import type { DrawVerdict } from "../../shared/draw-verdict.ts";
import type { RunHeader } from "../../shared/record/run-record.ts";

/** The half-width of a rectangular error: `share` of the reading plus `offset`, and a read-back in steps of `step`. */
export interface ReadingError {
  share: number;
  offset: number;
  step: number;
}

/**
 * Standard uncertainty of one reading, in its own unit: half-widths of rectangular errors divided by √3, a step by √12,
 * added in squares (JCGM 100:2008, 4.3.7, F.2.2.1 and 5.1.2).
 */
export function standardUncertainty(reading: number, { share, offset, step }: ReadingError): number {
  return Math.hypot((share * Math.abs(reading) + offset) / Math.sqrt(3), step / Math.sqrt(12));
}

/**
 * The error of the sum of the feeds' currents: the largest share, and the offsets and steps of all supplies' channels that
 * were in the run. Null where the accuracy of one of them is not known.
 */
export function ampsError(header: RunHeader): ReadingError | null {
  const error = { share: 0, offset: 0, step: 0 };
  for (const feed of header.plan.feeds) {
    if (feed.supply === null) continue;
    const accuracy = header.instruments.find((each) => each.name === feed.supply)?.accuracy;
    if (accuracy?.ampsShare === undefined && accuracy?.ampsOffset === undefined) return null;
    error.share = Math.max(error.share, accuracy.ampsShare ?? 0);
    error.offset += accuracy.ampsOffset ?? feed.offsetAmps ?? 0;
    error.step += feed.stepAmps ?? 0;
  }
  return error;
}

type Judged = Pick<DrawVerdict, "features" | "uncertainty">;

/**
 * Standard uncertainty of the plateau, amps; null where the accuracy of a supply is not known. The verdict's own, which has the
 * scatter in it; of a record without one, the instruments' alone.
 */
export function plateauUncertainty(header: RunHeader, { features, uncertainty }: Judged): number | null {
  const error = ampsError(header);
  if (error === null || features.plateauAmps === null) return null;
  const expanded = uncertainty?.plateauAmps ?? null;
  return expanded === null ? standardUncertainty(features.plateauAmps, error) : expanded / 2;
}

/**
 * Standard uncertainty of the charge up to the plateau, coulombs; null not known. Beside the meter's share it counts one
 * read interval at the peak as a rectangular width, since the current between two readings is not known (own arithmetic,
 * no source).
 */
export function chargeUncertainty(header: RunHeader, { features, uncertainty }: Judged): number | null {
  const error = ampsError(header);
  const expanded = uncertainty?.chargeCoulombs ?? null;
  if (error !== null && expanded !== null) return expanded / 2;
  const { chargeCoulombs, peakAmps, sampleIntervalMs } = features;
  if (error === null || chargeCoulombs === null || peakAmps === null || sampleIntervalMs === null) return null;
  return Math.hypot(
    (error.share * Math.abs(chargeCoulombs)) / Math.sqrt(3),
    (Math.abs(peakAmps) * sampleIntervalMs) / 1000 / Math.sqrt(12),
  );
}
