import { sayVolts } from "../../shared/words/amounts.ts";
import { at } from "../analysis/at.ts";
import type { FeedFigures } from "./feed-figures.ts";
import type { Finding } from "./finding.ts";

/**
 * A feed that shows volts before it was ever switched on, while another is on, is fed through the board: a regulator
 * between them is shorted. Null where none does. Needs three readings, since leads pick up a switching transient.
 */
export function ruleBackFeed(all: readonly FeedFigures[]): Finding | null {
  for (const fed of all) {
    const { atMs, volts } = fed.view.trace;
    const ownStart = Math.min(...fed.runs.map(({ from }) => from), atMs.length);
    for (const source of all) {
      if (source === fed) continue;
      const sourceMs = source.view.trace.atMs;
      const spans = source.runs.map(({ from, to }) => [at(sourceMs, from), at(sourceMs, to - 1)] as const);
      let count = 0;
      let most = 0;
      for (let i = 0; i < ownStart; i++) {
        if (!(at(volts, i) > fed.view.limits.backFeedVolts)) continue;
        const now = at(atMs, i);
        if (!spans.some(([from, to]) => now >= from && now <= to)) continue;
        count++;
        most = Math.max(most, at(volts, i));
      }
      if (count < 3) continue;
      return {
        class: "cannot-tell",
        probability: 0,
        rivals: [
          { class: "overload", probability: 0.6 },
          { class: "dead-short", probability: 0.25 },
        ],
        because: [
          `Feed ${fed.view.feed} was off but showed ${sayVolts(most)} while ${source.view.feed} was on: it is fed through the board, for example by a shorted regulator between the two.`,
          `Measure the ohms from ${source.view.feed} to ${fed.view.feed} with everything off, before either is powered again.`,
        ],
        feed: fed.view.feed,
      };
    }
  }
  return null;
}
