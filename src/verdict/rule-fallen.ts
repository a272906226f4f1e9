import { sayAmps, sayMs, sayOhms, sayVolts } from "../../shared/words/amounts.ts";
import { ampsUncertainty, voltsUncertainty } from "../analysis/reading-uncertainty.ts";
import { leadsOf, shortResistanceOf } from "../analysis/short-resistance.ts";
import { type FallUnderLoad, LEAST_LOCK_OUT_SHARE } from "./falls-under-load.ts";
import type { FeedFigures } from "./feed-figures.ts";
import type { Finding } from "./finding.ts";
import { sayFeed } from "./say.ts";
import { shareAbove } from "./share-above.ts";

/** The fall that counts: the one the record ends in, else the deepest. */
export function fallOf({ attempts }: FeedFigures): FallUnderLoad | null {
  const falls = attempts[attempts.length - 1]?.fallsUnderLoad ?? [];
  return (
    falls.find(({ lasted }) => lasted) ??
    falls.reduce<FallUnderLoad | null>(
      (least, each) => (least === null || each.volts < least.volts ? each : least),
      null,
    )
  );
}

/**
 * A feed whose record ends with its volts gone and its current there: what happened last decides over the level before it,
 * however long that was. Under every lock-out it is a short or an overload by its ohms; higher up a load step beyond the
 * limit looks the same, and null leaves it to the rule of the limit.
 */
export function ruleFallen(figures: FeedFigures): Finding | null {
  const fall = fallOf(figures);
  const { view } = figures;
  if (fall === null || !fall.lasted) return null;
  const aim = figures.attempts[figures.attempts.length - 1]?.aimVolts ?? null;
  if (aim === null || fall.volts >= LEAST_LOCK_OUT_SHARE * aim) return null;
  const { ohms, expandedOhms } = shortResistanceOf({
    volts: fall.volts,
    amps: fall.amps,
    ...leadsOf(view.trace),
    voltsU: voltsUncertainty(fall.volts, view.trace.accuracy, view.stepVolts),
    ampsU: ampsUncertainty(fall.amps, view.trace.accuracy, view.stepAmps),
  });
  const over = shareAbove(ohms, view.limits.deadShortOhms, Math.max(expandedOhms / 2, 0.001));
  const dead = 0.95 * (1 - over);
  const because = [
    `${sayFeed(view.feed)} ran for ${sayMs(fall.ranMs)}, then fell to ${sayVolts(fall.volts)} at ${sayAmps(fall.amps)}, where the record ends (${count(fall.readings)}).`,
    `No converter runs at ${sayVolts(fall.volts)}, so the current takes a path of ${fall.readings < 3 ? "at most " : ""}${sayOhms(ohms)}: something on the board broke. The draw before that does not count.`,
  ];
  const found = { outsideStudy: true, because, feed: view.feed, shortOhms: ohms, shortOhmsU: expandedOhms / 2 };
  return ohms < view.limits.deadShortOhms
    ? { ...found, class: "dead-short", probability: dead, rivals: [{ class: "overload", probability: 0.97 - dead }] }
    : {
        ...found,
        class: "overload",
        sub: "unknown",
        probability: 0.97 - dead,
        rivals: [{ class: "dead-short", probability: Math.max(0.02, dead) }],
      };
}

/** A fall under load from which the volts came back: no level before or after it is a healthy board's. Null where none was seen. */
export function ruleDipped(figures: FeedFigures): Finding | null {
  const fall = fallOf(figures);
  if (fall === null) return null;
  const again = fall.lasted ? "and the record ends there" : "and came back";
  return {
    outsideStudy: true,
    class: "cannot-tell",
    probability: 0,
    rivals: [
      { class: "overload", probability: 0.65 },
      { class: "retrying", probability: 0.2 },
    ],
    because: [
      `${sayFeed(figures.view.feed)} fell to ${sayVolts(fall.volts)} at ${sayAmps(fall.amps)} after ${sayMs(fall.ranMs)}, ${again} (${count(fall.readings)}). A good board never does that.`,
      "Possible causes: a short that comes and goes, or a part that needs more than the limit when it starts. Leave it off and measure the cold ohms again; a scope on the feed shows which of the two it is.",
    ],
    feed: figures.view.feed,
  };
}

const count = (readings: number): string => (readings === 1 ? "one reading" : `${readings} readings`);
