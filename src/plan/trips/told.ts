import type { PlanEvent } from "../../../shared/plan.ts";
import { sayMs } from "../../../shared/words/amounts.ts";
import type { Finding } from "./finding.ts";

/** Events that cut by themselves whatever is under way: lost links, silence, hands, protections, gaps, failed commands. */
export function told(event: PlanEvent): Finding | null {
  switch (event.event) {
    case "stop":
      return bench("operator", null, `stopped by ${event.by}`);
    case "end":
      return bench("operator", null, `ended by ${event.by}`);
    case "link-lost":
      return bench("link-lost", null, `the link to ${event.instrument} was lost: ${event.because}`);
    case "silent":
      return bench("silent", null, `${event.instrument} does not answer: ${event.because}`);
    case "protection":
      return protectionActed(event.feed, event.which);
    case "front-panel":
      return byHandAtSupply(event.feed, event.because);
    case "lease-lost":
      return bench("lease-lost", null, `the process that started this run has ended: ${event.because}`);
    case "guardian-lost":
      return bench("guardian-lost", null, `the guardian has ended: ${event.because}`);
    case "clock-gap":
      return bench(
        "clock-gap",
        null,
        `this program was paused for ${sayMs(event.gapMs)}, and nothing was watched during that time`,
      );
    case "failed":
      return bench(
        "command-failed",
        event.feed,
        `a command${event.feed === null ? "" : ` for ${event.feed}`} failed: ${event.because}`,
      );
    case "refused":
      return bench("command-failed", event.feed, `the supply refused a setting of ${event.feed}: ${event.because}`);
    default:
      return null;
  }
}

/** The supply's own protection switched a feed off: the board is the likely reason. */
export const protectionActed = (feed: string, which: string): Finding => ({
  rule: "protection",
  feed,
  board: true,
  because: `the supply's ${which} protection of ${feed} acted`,
});

/** Somebody changed a feed at the supply itself. */
export const byHandAtSupply = (feed: string, because: string): Finding =>
  bench("front-panel", feed, `${feed} was changed at the supply itself: ${because}`);

const bench = (rule: Finding["rule"], feed: string | null, because: string): Finding => ({
  rule,
  feed,
  board: false,
  because,
});
