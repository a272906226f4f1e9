import { at } from "../at.ts";

export interface Crossing {
  atMs: number;
  /** Standard uncertainty, from the distance of the samples and from noise. */
  standardMs: number;
  /** The first sample that is surely above. */
  index: number;
}

/**
 * The first time from sample `from` on that a signal rises through `level`. With `reach` above zero, it has to come from that much
 * under the level to that much over it, so that noise about the level makes no crossing. Between them the time is that of a
 * straight line through the samples; its uncertainty is a rectangle of one sample's distance, and the noise over the slope
 * (JCGM 100:2008, 4.3.7 and 5.1.2). null where there is none, or it was above from the beginning.
 */
export function risingCrossing(
  atMs: ArrayLike<number>,
  values: ArrayLike<number>,
  of: { level: number; reach: number; noise: number; from?: number },
): Crossing | null {
  const { level, reach, noise, from = 0 } = of;
  let below = -1;
  for (let i = from; i < values.length; i++) {
    const value = at(values, i);
    if (value <= level - reach) below = i;
    else if (value >= level + reach && below >= 0) return between(atMs, values, { below, above: i, level, noise });
  }
  return null;
}

function between(
  atMs: ArrayLike<number>,
  values: ArrayLike<number>,
  { below, above, level, noise }: { below: number; above: number; level: number; noise: number },
): Crossing {
  const n = above - below + 1;
  const [startMs, startValue] = [at(atMs, below), at(values, below)];
  let [sumT, sumV, sumTT, sumTV, used] = [0, 0, 0, 0, 0];
  for (let i = below; i <= above; i++) {
    const [t, v] = [at(atMs, i) - startMs, at(values, i) - startValue];
    if (!Number.isFinite(v)) continue;
    used++;
    sumT += t;
    sumV += v;
    sumTT += t * t;
    sumTV += t * v;
  }
  const spread = sumTT - (sumT * sumT) / used;
  const slope = (sumTV - (sumT * sumV) / used) / spread;
  const lengthMs = at(atMs, above) - startMs;
  const sampleMs = lengthMs / (n - 1);
  const found = sumT / used + (level - startValue - sumV / used) / slope;
  // A line through samples that fall cannot say when they rose.
  const isLine = slope > 0 && found >= -sampleMs && found <= lengthMs + sampleMs;
  return {
    atMs: startMs + (isLine ? Math.min(lengthMs, Math.max(0, found)) : lengthMs / 2),
    standardMs: isLine
      ? Math.hypot(sampleMs / Math.sqrt(12), noise / (slope * Math.sqrt(used)))
      : lengthMs / Math.sqrt(12),
    index: above,
  };
}
