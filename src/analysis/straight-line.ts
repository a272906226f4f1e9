/** Samples and their straight line: units of the samples, times in milliseconds. */
export interface StraightLine {
  mean: number;
  /** Standard error of the mean. */
  error: number;
  /** Per millisecond. */
  slope: number;
  slopeError: number;
}

/**
 * The line of least squares through samples, with the standard errors of mean and slope. Fewer than three samples, or samples of
 * one moment, give no slope: it is 0 and both errors are infinite.
 */
export function straightLine(samples: readonly { atMs: number; value: number }[]): StraightLine {
  const n = samples.length;
  const mean = samples.reduce((sum, each) => sum + each.value, 0) / Math.max(1, n);
  const middle = samples.reduce((sum, each) => sum + each.atMs, 0) / Math.max(1, n);
  let xx = 0;
  let xy = 0;
  let yy = 0;
  for (const { atMs, value } of samples) {
    xx += (atMs - middle) ** 2;
    xy += (atMs - middle) * (value - mean);
    yy += (value - mean) ** 2;
  }
  if (n < 3 || xx === 0)
    return { mean, error: Number.POSITIVE_INFINITY, slope: 0, slopeError: Number.POSITIVE_INFINITY };
  const slope = xy / xx;
  const rest = Math.max(0, yy - slope * xy) / (n - 2);
  return { mean, error: Math.sqrt(yy / (n - 1) / n), slope, slopeError: Math.sqrt(rest / xx) };
}
