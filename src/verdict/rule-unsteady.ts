import type { Candidate } from "../../shared/draw-verdict.ts";
import { sayAmps, sayMs, sayShare } from "../../shared/words/amounts.ts";
import { at } from "../analysis/at.ts";
import { trendOf } from "../analysis/trend.ts";
import type { Finding } from "./finding.ts";
import type { Watch } from "./watch.ts";

/** The start of a watch belongs to rails and fans coming up; so long, or half of a short watch. */
const START_MS = 3000;

/**
 * A draw that keeps moving without a period that can be seen is no level to judge: an intermittent contact, a fan that
 * hunts, or a converter that retries faster than the meter reads. Null where it is steady. `levelRivals` are the classes
 * its mean would have.
 */
export function ruleUnsteady(watch: Watch, levelRivals: readonly Candidate[]): Finding | null {
  const { atMs, amps, level, stepAmps } = watch;
  const begin = watch.startMs + Math.min(START_MS, watch.lengthMs / 2);
  const jumps = watch.stretches.slice(1).filter(({ startMs }) => startMs > begin).length;
  const moved = Math.max(
    watch.limits.unsteadyShare * Math.abs(level.mean),
    4 * stepAmps,
    6 * (watch.noiseAmps || 0),
    0.005,
  );
  const from = watch.stretches[watch.stretches.length - 1]?.from ?? 0;
  let [outside, n, squares] = [0, 0, 0];
  let [least, most] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  const trend = trendOf(atMs.subarray(from), amps.subarray(from));
  for (let i = from; i < amps.length; i++) {
    if (at(atMs, i) < begin) continue;
    const off = at(amps, i) - trend(at(atMs, i));
    n++;
    squares += off * off;
    if (Math.abs(off) > moved) outside++;
    least = Math.min(least, at(amps, i));
    most = Math.max(most, at(amps, i));
  }
  const spread = Math.sqrt(squares / Math.max(1, n));
  const spiky = n >= 5 && outside >= 3 && outside > 0.01 * n;
  const noisy = n >= 5 && spread > Math.max(watch.limits.unsteadyShare * Math.abs(level.mean), 3 * stepAmps, 0.005);
  if (jumps < 3 && !spiky && !noisy) return null;
  const because = [
    jumps >= 3
      ? `After the settling time the draw jumped ${jumps} times between levels, without a visible period.`
      : `The draw has no steady level: it moves between ${sayAmps(least)} and ${sayAmps(most)} around ${sayAmps(level.mean)} (one standard deviation is ${sayShare(spread / Math.abs(level.mean))}), without a visible period.`,
    `Possible causes: a contact that comes and goes, an unsteady fan, or a converter that retries faster than a meter reading every ${sayMs(
      watch.intervalMs ?? 0,
    )} can show. A scope on the feed, or a tap on the board, tells them apart.`,
  ];
  const rest = levelRivals.filter((each) => each.class !== "retrying" && each.class !== "cannot-tell");
  const share = rest.reduce((sum, { probability }) => sum + probability, 0) || 1;
  return {
    class: "cannot-tell",
    probability: 0,
    rivals: [
      { class: "retrying", probability: 0.55 },
      ...rest.map((each) => ({ class: each.class, probability: (0.35 * each.probability) / share })),
    ],
    because,
  };
}
