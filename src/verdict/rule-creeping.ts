import { sayAmps, sayMs, sayShare } from "../../shared/words/amounts.ts";
import type { Drift } from "../analysis/drift.ts";
import { type Climb, creepShare } from "./creep-share.ts";
import type { Finding } from "./finding.ts";
import { shareAbove } from "./share-above.ts";
import type { Watch } from "./watch.ts";

export interface Creep {
  /** Of a class only where a leak is likelier than not. */
  finding: Finding | null;
  /** Said with another verdict: it still climbs, but as a board that warms does; or a climb would not show. */
  remark: string | null;
  /** Probability that the draw creeps after all. */
  doubt: number;
}

/** A slope is only asked for from this on. */
const LEAST_MS = 1500;

/**
 * Whether the draw climbs as a leaking part does: steadily or faster and faster, where a healthy board's climb of
 * 2–8 % with a time constant of 60–300 s flattens. Judged since the last abrupt step, by the likelihood of slope and bend
 * under both. `topAmps` is the top of the highest healthy band: a draw that began well above it and climbs is an overload that leaks.
 */
export function ruleCreeping(watch: Watch, topAmps: number | null): Creep {
  const none: Creep = { finding: null, remark: null, doubt: 0 };
  const { drift, limits } = watch;
  if (drift === null || !(drift.startLevel > 0) || drift.lengthMs < LEAST_MS) return none;
  const climb = climbOf(watch, drift);
  const share = creepShare(climb, limits);
  const seen = climb.perMin > 3 * climb.u;
  const rose = `The draw climbed from ${sayAmps(drift.startLevel)} to ${sayAmps(drift.endLevel)} in ${sayMs(drift.lengthMs)}, ${sayShare(climb.perMin)} a minute, without a step`;
  if (share >= 0.5) {
    const bends = climb.bendPerMin > 2 * climb.bendU;
    const because = [
      `${rose}${bends ? ", and faster towards the end" : ", and does not flatten"}.`,
      "A healthy board that warms up rises by 2–8 % over minutes and then flattens; a leaking part heats itself. Switch off and find the heat.",
    ];
    return { finding: leakOf(watch, share, drift.startLevel, topAmps, because), remark: null, doubt: 0 };
  }
  const blindPerMin = 3 * climb.u;
  if (!seen) {
    if (blindPerMin <= limits.creepLeastPerMin) return { ...none, doubt: share };
    return {
      ...none,
      remark: `A climb of less than ${sayShare(blindPerMin)} a minute would not show in this watch.`,
      doubt: share,
    };
  }
  if (climb.perMin <= limits.creepLeastPerMin / 2 || share < 0.02)
    return { ...none, remark: `${rose}, like a board that warms up.`, doubt: share };
  return {
    finding: null,
    remark: `${rose}; a board that warms up does this too and then flattens, so watch it longer before you leave it on.`,
    doubt: share,
  };
}

function leakOf(watch: Watch, share: number, from: number, topAmps: number | null, because: string[]): Finding {
  const probability = Math.min(0.97, share);
  const over =
    topAmps === null ? 0 : shareAbove(from, watch.limits.overloadRatio * topAmps, Math.max(watch.standardU, 1e-9));
  const rival = (name: "overload" | "creeping", part: number) => [
    { class: name, probability: Math.max(0.03, probability * part) },
  ];
  return over > 0.5
    ? {
        class: "overload",
        sub: "leaky",
        probability: probability * over,
        rivals: rival("creeping", 1 - over),
        because,
      }
    : { class: "creeping", probability: probability * (1 - over), rivals: rival("overload", over), because };
}

/**
 * Standard uncertainty of the slope, shares of the level a minute: that of a line through n readings is σ·√(12/n) over its length, twice
 * that for noise that follows itself and for a line that is robust; half a step of the meter where noise is too small to average
 * steps out.
 */
export function slopeUncertainty(watch: Watch, drift: Drift): number {
  const { stepAmps, levelReadings } = watch;
  const noise = Number.isFinite(watch.noiseAmps) ? watch.noiseAmps : 0;
  const steps = stepAmps > 0 ? (0.5 * stepAmps) / (1 + (2 * (noise / stepAmps)) ** 2) : 0;
  const riseU = Math.hypot(2 * noise * Math.sqrt(12 / Math.max(8, levelReadings)), steps, 0.001 * drift.startLevel);
  return (riseU / drift.startLevel / drift.lengthMs) * 60_000;
}

/** The bend of two halves, each half as long with half the readings, is four times as uncertain as the slope. */
function climbOf(watch: Watch, drift: Drift): Climb {
  const u = slopeUncertainty(watch, drift);
  return {
    perMin: drift.perMin / drift.startLevel,
    bendPerMin: (drift.secondHalfPerMin - drift.firstHalfPerMin) / drift.startLevel,
    u,
    bendU: 4 * u,
    lengthMs: drift.lengthMs,
  };
}
