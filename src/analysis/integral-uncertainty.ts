import { at } from "./at.ts";

/**
 * Standard uncertainty of ∫ amps dt, coulombs. The instrument's error goes one way through the whole of it, so it adds up
 * straight; between two readings the current may have stepped from one to the other at any moment, a rectangle of half their
 * difference times the interval, and those are independent (JCGM 100:2008, 4.3.7, 5.1.2 and 5.2.2). Readings without a number are left out.
 */
export function chargeUncertainty(atMs: Float64Array, amps: Float64Array, ampsU: (amps: number) => number): number {
  let ofMeter = 0;
  let ofSampling = 0;
  let before = -1;
  for (let i = 0; i < amps.length; i++) {
    const now = at(amps, i);
    if (!Number.isFinite(now)) continue;
    if (before >= 0) {
      const seconds = (at(atMs, i) - at(atMs, before)) / 1000;
      const last = at(amps, before);
      ofMeter += ampsU((last + now) / 2) * seconds;
      ofSampling += (((now - last) / 2) * seconds) ** 2 / 3;
    }
    before = i;
  }
  return Math.hypot(ofMeter, Math.sqrt(ofSampling));
}

/** The same for ∫ volts·amps dt, joules; the errors of volts and of amps are independent of each other. */
export function energyUncertainty(
  { atMs, volts, amps }: { atMs: Float64Array; volts: Float64Array; amps: Float64Array },
  { ampsU, voltsU }: { ampsU: (amps: number) => number; voltsU: (volts: number) => number },
): number {
  let [ofAmps, ofVolts, ofSampling] = [0, 0, 0];
  let before = -1;
  for (let i = 0; i < amps.length; i++) {
    const [v, a] = [at(volts, i), at(amps, i)];
    if (!Number.isFinite(v) || !Number.isFinite(a)) continue;
    if (before >= 0) {
      const seconds = (at(atMs, i) - at(atMs, before)) / 1000;
      ofAmps += Math.abs(v) * ampsU(a) * seconds;
      ofVolts += Math.abs(a) * voltsU(v) * seconds;
      ofSampling += (((v * a - at(volts, before) * at(amps, before)) / 2) * seconds) ** 2 / 3;
    }
    before = i;
  }
  return Math.hypot(ofAmps, ofVolts, Math.sqrt(ofSampling));
}
