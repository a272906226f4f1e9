export interface Charging {
  farads: number;
  volts: number;
  limitAmps: number;
  supplyRiseMs: number;
  readIntervalMs: number;
}

/** Time a constant current takes to charge a capacitor, t = C·ΔV/I, milliseconds. Inputs in farads, volts, amps. */
export const chargeMs = ({ farads, volts, limitAmps }: Pick<Charging, "farads" | "volts" | "limitAmps">): number =>
  (1000 * farads * volts) / limitAmps;

/** Longest that charging may ever hold the limit, milliseconds. */
export const MOST_LIMITING_MS = 1000;

/**
 * The time a healthy feed may stay in its limit while its input charges, milliseconds: three times C·ΔV/I, the supply's
 * own rise and three read intervals, never under 100 ms nor over `mostMs` (default 1000). Common practice, no source;
 * the same idea as a hot-swap controller's fault timer.
 */
export function allowedLimitingMs(charging: Charging, mostMs = MOST_LIMITING_MS): number {
  const ms = 3 * chargeMs(charging) + charging.supplyRiseMs + 3 * charging.readIntervalMs;
  return Math.min(mostMs, Math.max(100, ms));
}
