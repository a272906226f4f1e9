import { UNNAMED_FEED } from "../../shared/draw-input.ts";
import type { Candidate, DrawClass } from "../../shared/draw-verdict.ts";
import { sayAmps, sayShare } from "../../shared/words/amounts.ts";
import { classInSentence } from "../../shared/words/class-words.ts";
import { normalShareBelow } from "../analysis/normal-share.ts";
import type { BandChoice, Bands } from "./band-choice.ts";
import { addedUp, type Finding } from "./finding.ts";
import { sayNames } from "./say.ts";
import { shareAbove } from "./share-above.ts";
import type { Watch } from "./watch.ts";

export interface Inrush {
  /** yes: a capacitor was seen to charge; no: it would have been seen; unknown: the readings were too far apart. */
  seen: "yes" | "no" | "unknown";
}

/** The class of a settled level by its bands, with rivals where an edge is within two standard uncertainties. */
export function ruleLevel(watch: Watch, choice: BandChoice, inrush: Inrush): Finding {
  const amps = watch.level.mean;
  const margin = 2 * watch.standardU;
  const named = watch.feeds.filter((feed) => feed !== UNNAMED_FEED);
  const over = named.length === 0 ? "" : ` over ${sayNames(named)}`;
  const because = [`The draw settled at ${sayAmps(amps)} ± ${sayAmps(margin)}${over}.`];
  if (amps < -Math.max(watch.limits.openAmps, 3 * watch.stepAmps, margin)) {
    because.push(
      "The current runs backwards: the meter or its clamp is reversed, or something else feeds the board through this feed.",
    );
    return { class: "cannot-tell", probability: 0, rivals: [], because };
  }
  const open = openOrStandby(watch, choice, inrush, because);
  if (open !== null) return open;
  const verdicts = choice.sets.map((bands) => inBands(amps, watch.standardU, bands, watch.limits.overloadRatio));
  if (verdicts.length === 0) {
    because.push(
      "The normal draw of such a feed is not known. Bands in a board file, taken from good boards, would tell.",
    );
    return { class: "cannot-tell", probability: 0, rivals: [], because };
  }
  const rivals = addedUp(
    verdicts.flatMap(({ shares }) =>
      shares.map((each) => ({ ...each, probability: each.probability / verdicts.length })),
    ),
  );
  const classes = [...new Set(verdicts.map((each) => each.class))];
  const [first] = verdicts;
  if (first === undefined || classes.length > 1) {
    because.push(`Because host and fans were not fully stated, that can be ${sayNames(classes.map(classInSentence))}.`);
    return { class: "cannot-tell", probability: 0, rivals, because };
  }
  because.push(first.says);
  if (first.class === "cannot-tell") return { class: "cannot-tell", probability: 0, rivals, because };
  const own = rivals.find((each) => each.class === first.class)?.probability ?? 0.9;
  return {
    class: first.class,
    ...(first.class === "overload" ? { sub: "over-demand" as const } : {}),
    probability: own,
    rivals: rivals.filter((each) => each.class !== first.class),
    because,
  };
}

/** Open and standby lie closer together than most meters see; an inrush proves that the way to the capacitors is whole. */
function openOrStandby(watch: Watch, choice: BandChoice, inrush: Inrush, because: string[]): Finding | null {
  const amps = Math.abs(watch.level.mean);
  const margin = 2 * watch.standardU;
  const openTop = Math.max(watch.limits.openAmps, ...choice.sets.map((bands) => bands["open-input"]?.[1] ?? 0));
  // A level counts as seen from three steps of the meter on.
  if (amps - margin > openTop && amps >= 3 * watch.stepAmps) return null;
  const step = watch.stepAmps > 0 ? `steps of ${sayAmps(watch.stepAmps)}` : "its uncertainty";
  if (inrush.seen === "yes") {
    const standbyTop = Math.max(openTop, ...choice.sets.map((bands) => bands["standby-only"]?.[1] ?? 0));
    if (amps > standbyTop) return null;
    because.push(
      "It took a charge when it was switched on, so the path to its capacitors is complete: standby, not open.",
    );
    return { class: "standby-only", probability: 0.85, rivals: [{ class: "open-input", probability: 0.08 }], because };
  }
  const missed = inrush.seen === "no";
  if ((missed && amps - margin <= openTop) || (amps + margin <= openTop && watch.stepAmps <= openTop)) {
    because.push(
      `${missed ? "It took no charge when it was switched on" : "No current flows"}: the fuse, shunt, lead or return is open. Measure the voltage behind the fuse.`,
    );
    const doubt = missed ? 0.02 : 0.08;
    return {
      class: "open-input",
      probability: 0.97 - doubt,
      rivals: [{ class: "standby-only", probability: doubt }],
      because,
    };
  }
  because.push(
    `With ${step}, and without a visible charge, an open input and a board in standby cannot be told apart. A meter in the lead that reads 0.1 mA would tell.`,
  );
  const flows = amps > margin;
  const rivals: Candidate[] = [
    { class: "standby-only", probability: flows ? 0.6 : 0.45 },
    { class: "open-input", probability: flows ? 0.35 : 0.5 },
  ];
  return { class: "cannot-tell", probability: 0, rivals, because };
}

interface BandVerdict {
  class: DrawClass;
  shares: Candidate[];
  says: string;
}

function inBands(amps: number, standardU: number, bands: Bands, overloadRatio: number): BandVerdict {
  const margin = 2 * standardU;
  const shares = sharesOf(amps, standardU, bands);
  const entries = (Object.entries(bands) as [DrawClass, [number, number]][]).sort((a, b) => a[1][0] - b[1][0]);
  const inside = entries.find(([, [low, high]]) => amps >= low && amps <= high);
  const healthyTop = Math.max(0, bands.normal?.[1] ?? 0, bands["core-alive"]?.[1] ?? 0);
  if (inside !== undefined) {
    const [name, [low, high]] = inside;
    const touching = entries.find(
      ([other, [otherLow, otherHigh]]) =>
        other !== name &&
        ((otherLow >= high && amps > high - margin && otherLow - amps < margin) ||
          (otherHigh <= low && amps < low + margin && amps - otherHigh < margin)),
    );
    const band = `the band of "${classInSentence(name)}", ${sayAmps(low)} to ${sayAmps(high)}`;
    if (touching !== undefined) {
      return {
        class: "cannot-tell",
        shares,
        says: `That is in ${band}, but within ${sayAmps(margin)} of "${classInSentence(touching[0])}". The rail voltages tell which of the two it is.`,
      };
    }
    return { class: name, shares, says: `That is in ${band}.` };
  }
  if (healthyTop > 0 && amps > healthyTop) {
    return aboveHealthy(amps, standardU, { top: healthyTop, known: bands.normal !== undefined, overloadRatio });
  }
  const below = entries.findLast(([, [, high]]) => high < amps)?.[0];
  const above = entries.find(([, [low]]) => low > amps)?.[0];
  return {
    class: "cannot-tell",
    shares,
    says: `That is between the bands${below !== undefined && above !== undefined ? ` of "${classInSentence(below)}" and "${classInSentence(above)}"` : ""}, where both kinds of board are found. The rail voltages, in the order of the power tree, tell which it is.`,
  };
}

/**
 * Above every healthy band: where boards that draw much end and overloads begin is anywhere between the band's top and
 * `overloadRatio` times it, likelier near the top, since boards of a kind scatter by little: an overload is as likely as not at a third of the way.
 */
function aboveHealthy(
  amps: number,
  standardU: number,
  { top, known, overloadRatio }: { top: number; known: boolean; overloadRatio: number },
): BandVerdict {
  const over = `That is above the highest healthy band, which ends at ${sayAmps(top)}`;
  const middle = (1 + (overloadRatio - 1) / 3) * top;
  // As wide as an even spread over the gap.
  const overload = shareAbove(amps, middle, Math.hypot(standardU, ((overloadRatio - 1) * top) / Math.sqrt(12)));
  const near: DrawClass = known ? "normal" : "core-alive";
  const shares: Candidate[] = [
    { class: "overload", probability: 0.97 * overload },
    { class: near, probability: 0.97 * (1 - overload) },
  ];
  return known && amps - 2 * standardU > overloadRatio * top
    ? { class: "overload", shares, says: `${over}, by more than ${sayShare(overloadRatio - 1)} of it.` }
    : {
        class: "cannot-tell",
        shares,
        says: `${over}, but only within ${sayShare(overloadRatio - 1)} of it: a board that draws much, or a faulty one. Warm parts, and the rails compared one by one with a good board, tell which it is.`,
      };
}

/**
 * Share of each band under a normal curve around the level, as wide as its uncertainty and a fifteenth of itself (how
 * much bands of boards of one kind scatter; common practice, no source).
 */
function sharesOf(amps: number, standardU: number, bands: Bands): Candidate[] {
  const sigma = Math.hypot(standardU, amps / 15);
  const shares = (Object.entries(bands) as [DrawClass, [number, number]][]).map(([name, [low, high]]) => ({
    class: name,
    probability: normalShareBelow((high - amps) / sigma) - normalShareBelow((low - amps) / sigma),
  }));
  const total = shares.reduce((sum, { probability }) => sum + probability, 0);
  const room = total > 0.3 ? 0.97 / total : 0.97 / Math.max(total, 0.05);
  return shares
    .map((each) => ({ class: each.class, probability: Math.min(0.97, each.probability * room) }))
    .filter(({ probability }) => probability > 0.005);
}
