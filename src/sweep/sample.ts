/** A reading as the sweep looks at it: when it was complete, and its value in the point's own unit. */
export interface Sample {
  atMs: number;
  value: number;
  halfWidth: number | null;
}

export const spanMs = (samples: readonly { atMs: number }[]): number =>
  samples.length === 0 ? 0 : (samples.at(-1)?.atMs ?? 0) - (samples[0]?.atMs ?? 0);
