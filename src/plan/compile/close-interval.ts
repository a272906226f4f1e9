/** In each how many rounds the others are read while one feed comes up or meets its limit; a slow supply leaves them no longer. */
export const othersNth = (roundMs: number): number => (roundMs <= 200 ? 4 : 2);

/** From one reading of a feed to the next while it comes up or meets its limit, milliseconds. */
export function closeIntervalMs({ readIntervalMs, roundMs = 0 }: { readIntervalMs: number; roundMs?: number }): number {
  return readIntervalMs + Math.max(0, roundMs - readIntervalMs) / othersNth(roundMs);
}
