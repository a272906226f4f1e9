import { at } from "../analysis/at.ts";
import type { FeedFigures } from "./feed-figures.ts";
import type { Inrush } from "./rule-level.ts";

/**
 * Whether capacitors were seen to charge when a set of feeds rose: current above the later level that adds up to at
 * least a third of the least input capacitance's charge. `no` only where such a charge would have filled three intervals.
 */
export function inrushOf(all: readonly FeedFigures[], levelAmps: number): Inrush {
  let couldSee = all.length > 0;
  for (const { view, attempts } of all) {
    const attempt = attempts.findLast(({ reachedAt }) => reachedAt !== null);
    if (attempt === undefined || attempt.aimVolts === null) continue;
    const leastCharge = (view.boardFeed?.inputFarads?.[0] ?? view.limits.leastInputFarads) * attempt.aimVolts;
    const { atMs, amps } = view.trace;
    const stands = Math.max(0, levelAmps) + Math.max(4 * view.stepAmps, 0.01);
    const until = at(atMs, attempt.reachedAt ?? attempt.from) + 100;
    let charge = 0;
    for (let i = attempt.from + 1; i < attempt.to && at(atMs, i) <= until; i++) {
      const [before, here] = [at(amps, i - 1), at(amps, i)];
      if (before <= stands && here <= stands) continue;
      charge += (Math.max(0, (before + here) / 2 - levelAmps) * (at(atMs, i) - at(atMs, i - 1))) / 1000;
    }
    if (charge >= leastCharge / 3) return { seen: "yes" };
    const lastsMs = attempt.limitAmps === null ? 0 : (1000 * leastCharge) / attempt.limitAmps;
    if (!(lastsMs >= 3 * (view.intervalMs ?? Number.POSITIVE_INFINITY))) couldSee = false;
  }
  return { seen: couldSee ? "no" : "unknown" };
}
