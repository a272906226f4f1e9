import { sayAmps, sayMs, sayShare } from "../../shared/words/amounts.ts";
import { noiseOf } from "../analysis/noise.ts";
import { type Period, periodOf } from "../analysis/period.ts";
import { type Pulses, pulsesOf } from "../analysis/pulses.ts";
import { medianOf } from "../analysis/quantile.ts";
import type { Finding } from "./finding.ts";
import { shareAbove } from "./share-above.ts";
import type { Watch } from "./watch.ts";

export interface Retries {
  period: Period | null;
  pulses: Pulses | null;
  finding: Finding | null;
}

/** The trace that is searched for a beat: a watch, or what a recorder took down. */
export type Beating = Pick<Watch, "atMs" | "amps" | "stepAmps" | "noiseAmps" | "intervalMs" | "limits">;

/**
 * Whether the draw comes in pulses that repeat while the volts stay: a converter that tries, meets a fault behind it
 * and gives up until the next time. Needs four pulses, a repeat of 0.5, less than 60 % of the time on.
 */
export function ruleRetrying(watch: Beating): Retries {
  const least = Math.max(4 * watch.stepAmps, 6 * quietNoise(watch), 0.1 * Math.abs(medianOf(watch.amps)), 0.01);
  const pulses = pulsesOf(watch.atMs, watch.amps, least);
  if (pulses === null || pulses.count < watch.limits.retryPulses || pulses.duty >= watch.limits.retryDuty) {
    return { period: null, pulses, finding: null };
  }
  const period = periodOf(watch.atMs, watch.amps);
  if (period === null || period.strength < watch.limits.retryStrength) return { period: null, pulses, finding: null };
  const interval = watch.intervalMs ?? 0;
  // Pulses that keep the beat to a reading are a beat; what a slow meter makes of a fast one comes at odd times.
  const beats = pulses.spacingSpreadMs <= 1.6 * interval + 0.1 * pulses.spacingMs;
  const agrees = Math.abs(pulses.spacingMs - period.periodMs) <= 1.6 * interval + 0.15 * period.periodMs;
  if (!beats || !agrees) return { period: null, pulses, finding: null };
  const because = [
    `The draw comes in ${pulses.count} pulses of about ${sayAmps(pulses.height)} above ${sayAmps(pulses.baseLevel)}, every ${sayMs(period.periodMs)}, ${sayShare(pulses.duty)} of the time, while the voltage stays.`,
    "A converter starts into a short or an overload and tries again: look behind the inductors, one rail at a time.",
  ];
  const resolved = pulses.readingsEach >= 1.5;
  if (!resolved)
    because.push(
      `Each pulse is one reading long. A faster beat would look the same to a meter that reads every ${sayMs(interval)}.`,
    );
  return {
    period,
    pulses,
    finding: {
      class: "retrying",
      probability: retryShare(pulses, period.strength),
      rivals: [{ class: "overload", probability: 0.03 }],
      because,
    },
  };
}

/**
 * The chance that pulses at an even pace are a retry and no chance or other beat: less so near the bars of `VerdictLimits`, with few pulses (each that
 * keeps the pace halves the doubt) and where a pulse is hardly longer than a reading.
 */
function retryShare(pulses: Pulses, strength: number): number {
  return (
    0.97 *
    shareAbove(strength, 0.35, 0.1) *
    shareAbove(0.75, pulses.duty, 0.1) *
    (1 - 2 ** (1 - pulses.count)) *
    (0.8 + 0.2 * shareAbove(pulses.readingsEach, 1.5, 0.25))
  );
}

/**
 * Noise of the level between the pulses: the differences of neighbours, most of which are not at an edge. Of the whole watch or of its last
 * stretch, whichever is less: the last stretch may be the few readings of one pulse, and in a quick beat most differences are edges.
 */
function quietNoise({ amps, noiseAmps }: Beating): number {
  const of = [noiseAmps, noiseOf(amps)].filter(Number.isFinite);
  return of.length === 0 ? 0 : Math.min(...of);
}
