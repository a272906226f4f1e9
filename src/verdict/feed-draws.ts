import type { FeedDraw } from "../../shared/draw-verdict.ts";
import { sayAmps, sayVolts } from "../../shared/words/amounts.ts";
import type { FeedFigures } from "./feed-figures.ts";
import { addedUp, type Finding } from "./finding.ts";
import { inrushOf } from "./inrush.ts";
import { sayNames } from "./say.ts";
import { type Watch, watchOf } from "./watch.ts";

/** Shorter watches of a feed say nothing of what it carries. */
const LEAST_MS = 500;

/**
 * The current each feed carried while it stood at its nominal voltage, with the expanded uncertainty (k = 2). `open` is yes where no
 * current flows and no charge went in when it came on, likely where no current flows and the meter was too slow for the charge.
 */
export function feedDrawsOf(all: readonly FeedFigures[], sum: Watch | null): FeedDraw[] {
  return all.flatMap((figures) => {
    const isSum = sum !== null && sum.feeds.length === 1 && sum.feeds[0] === figures.view.feed;
    const watch = isSum ? sum : watchOf([figures]);
    if (watch === null || watch.lengthMs < LEAST_MS) return [];
    const { view } = figures;
    const amps = watch.level.mean;
    const none = Math.max(view.limits.openAmps, 3 * watch.standardU);
    // Steps too coarse for a milliamp cannot tell standby from nothing.
    const isSilent = Math.abs(amps) + 2 * watch.standardU <= none && watch.stepAmps <= view.limits.openAmps;
    const inrush = inrushOf([figures], amps).seen;
    return [
      {
        feed: view.feed,
        amps,
        expandedAmps: 2 * watch.standardU,
        open:
          !isSilent || inrush === "yes" ? ("no" as const) : inrush === "no" ? ("yes" as const) : ("likely" as const),
      },
    ];
  });
}

/**
 * The finding of the sum with a sentence for each feed. One that stands at its voltage and carries nothing is open behind its
 * connector, whatever the others draw: it is said beside their class, weighs as a candidate, and no draw is normal with it.
 */
export function withFeedDraws(
  finding: Finding,
  { draws, all, counted }: { draws: readonly FeedDraw[]; all: readonly FeedFigures[]; counted: readonly string[] },
): Finding {
  if (draws.length < 2) return finding;
  const because = [
    ...finding.because,
    `By feed: ${largestFirst(draws)
      .map((each) => saysDraw(each, counted))
      .join(", ")}.`,
  ];
  const open = draws.filter((each) => each.open !== "no");
  if (open.length === 0 || open.length === draws.length || finding.class === "open-input")
    return { ...finding, because };
  for (const { feed, open: how } of open) {
    const nominal = all.find(({ view }) => view.feed === feed)?.view.nominalVolts ?? null;
    const stands = nominal === null ? "stands at its voltage" : `stands at ${sayVolts(nominal)}`;
    because.push(
      `Feed ${feed} ${stands} and carries no current${how === "yes" ? ", and it took no charge when it came on" : ""}: it is${how === "yes" ? "" : " most likely"} open behind its connector. Measure the voltage behind its fuse and its shunt, and check its return.`,
    );
  }
  const share = open.some((each) => each.open === "yes") ? 0.6 : 0.45;
  const rivals = addedUp([
    { class: "open-input" as const, probability: share },
    ...finding.rivals.map((each) => ({ ...each, probability: each.probability * (1 - share) })),
  ]);
  if (finding.class !== "normal")
    return { ...finding, outsideStudy: true, probability: finding.probability * (1 - share), rivals, because };
  because.push(`A draw is not normal while ${sayNames(open.map(({ feed }) => feed))} carries no current.`);
  return {
    ...finding,
    outsideStudy: true,
    class: "cannot-tell",
    probability: 0,
    rivals: addedUp([...rivals, { class: "normal", probability: finding.probability * (1 - share) }]),
    because,
  };
}

/** The order does not hang on which feed came first in a capture. */
const largestFirst = (draws: readonly FeedDraw[]): FeedDraw[] => draws.toSorted((one, other) => other.amps - one.amps);

const saysDraw = ({ feed, amps, expandedAmps }: FeedDraw, counted: readonly string[]): string =>
  `${feed} ${sayAmps(amps, expandedAmps)}${counted.includes(feed) ? "" : " (not counted)"}`;
