import type { Finding } from "./finding.ts";
import { sayAmps, sayMs, sayShare } from "./say.ts";
import { LIMITS } from "./verdict-limits.ts";
import type { Watch } from "./watch.ts";

export interface Creep {
  finding: Finding | null;
  /** Said with another verdict: it still climbs, but as a board that warms does. */
  remark: string | null;
  /** Probability that the climb is a leak after all. */
  doubt: number;
}

/**
 * Whether the draw climbs as a leaking part does: steadily or faster and faster, where a healthy board's climb of
 * 2–8 % with a time constant of 60–300 s flattens. Judged since the last abrupt step. `topAmps` is the top of the
 * highest healthy band: a draw that began above it and climbs is an overload that leaks.
 */
export function ruleCreeping(watch: Watch, topAmps: number | null): Creep {
  const none: Creep = { finding: null, remark: null, doubt: 0 };
  const { drift } = watch;
  if (drift === null || !(drift.startLevel > 0) || drift.lengthMs < 1500) return none;
  const rise = drift.endLevel - drift.startLevel;
  const seen = Math.max(
    2 * watch.stepAmps,
    endsUncertainty(watch),
    1.5 * (watch.noiseAmps || 0),
    0.004 * drift.startLevel,
  );
  // What a climb must be to show, as a share a minute: coarse steps and a short watch hide a leak.
  const blindPerMin = (seen / drift.startLevel / drift.lengthMs) * 60_000;
  if (rise < seen) {
    if (blindPerMin <= LIMITS.creepShortPerMin) return none;
    return {
      ...none,
      remark: `A climb of less than ${sayShare(blindPerMin)} a minute would not show in this watch.`,
      doubt: 0.02,
    };
  }
  const first = drift.firstHalfPerMin / drift.startLevel;
  const second = drift.secondHalfPerMin / drift.startLevel;
  const whole = drift.perMin / drift.startLevel;
  const flattens = second < 0.8 * first;
  const grows = second > 1.3 * first;
  const long = drift.lengthMs >= LIMITS.creepLongMs;
  const fast = Math.min(whole, second) > (long ? LIMITS.creepLongPerMin : LIMITS.creepShortPerMin);
  const leaps = drift.endLevel > LIMITS.creepRatio * drift.startLevel;
  const growing = grows && second > LIMITS.creepLongPerMin && rise > 2 * seen;
  const climb = `The draw climbed from ${sayAmps(drift.startLevel)} to ${sayAmps(drift.endLevel)} in ${sayMs(drift.lengthMs)}, ${sayShare(whole)} a minute, without a step`;
  if (leaps || (fast && !flattens) || growing) {
    const because = [
      `${climb}${grows ? ", and faster towards the end" : ", and does not flatten"}.`,
      "A healthy board that warms climbs by 2–8 % over minutes and flattens; a leaking part heats itself. Switch off and find the heat.",
    ];
    const leaks = topAmps !== null && drift.startLevel > LIMITS.overloadRatio * topAmps;
    const probability = leaps || grows ? 0.95 : Math.min(0.93, 0.6 + whole);
    const rivals = [{ class: "overload" as const, probability: 0.03 }];
    const finding: Finding = leaks
      ? {
          class: "overload",
          sub: "leaky",
          probability: 0.85,
          rivals: [{ class: "creeping", probability: 0.1 }],
          because,
        }
      : { class: "creeping", probability, rivals, because };
    return { finding, remark: null, doubt: 0 };
  }
  if (second <= LIMITS.creepLongPerMin && whole <= LIMITS.creepLongPerMin)
    return { ...none, remark: `${climb}, as a board that warms does.` };
  return {
    finding: null,
    remark: `${climb}; a board that warms does this too and then flattens, so watch longer before it is left on.`,
    doubt: flattens ? 0.03 : 0.1,
  };
}

/**
 * Six standard deviations of the difference between the ends of a line through n readings, σ·√(12/n) for least squares,
 * half of that for noise that follows itself and for a line that is robust instead. From the differences of neighbours, since the
 * climb itself must not count as scatter.
 */
function endsUncertainty({ noiseAmps, levelReadings }: Watch): number {
  return Number.isFinite(noiseAmps) ? 6 * noiseAmps * Math.sqrt(12 / Math.max(8, levelReadings)) : 0;
}
