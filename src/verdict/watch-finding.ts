import type { Candidate } from "../../shared/draw-verdict.ts";
import type { BandChoice } from "./band-choice.ts";
import type { FeedFigures } from "./feed-figures.ts";
import type { Finding } from "./finding.ts";
import { inrushOf } from "./inrush.ts";
import { ruleCreeping } from "./rule-creeping.ts";
import { ruleLevel } from "./rule-level.ts";
import { LIMIT_RIVALS } from "./rule-limited.ts";
import { ruleRetrying } from "./rule-retrying.ts";
import { ruleUnsteady } from "./rule-unsteady.ts";
import { sayMs, sayNames } from "./say.ts";
import { LIMITS } from "./verdict-limits.ts";
import { type Watch, watchOf } from "./watch.ts";

/** Before this the inrush, soft starts and the filters of meters are still in the readings. */
const LEAST_LEVEL_MS = 500;

/** What the watch at nominal voltage says, with what makes it less sure put beside it. */
export function watchFindingOf(
  all: readonly FeedFigures[],
  choice: BandChoice,
  watch: Watch,
): { finding: Finding; periodMs: number | null } {
  const retries = retriesOf(all, choice, watch);
  if (retries.finding !== null) return { finding: retries.finding, periodMs: retries.period?.periodMs ?? null };
  const tops = choice.sets
    .flatMap((bands) => [bands.normal?.[1], bands["core-alive"]?.[1]])
    .filter((top) => top !== undefined);
  const creep = ruleCreeping(watch, tops.length === 0 ? null : Math.max(...tops));
  const level = ruleLevel(watch, choice, inrushOf(choice.feeds, watch.level.mean));
  const unsteady = ruleUnsteady(
    watch,
    level.class === "cannot-tell" ? level.rivals : [{ class: level.class, probability: 1 }],
  );
  // Pulses that come at odd times have no slope worth the name.
  const climbs = creep.finding !== null && !(unsteady !== null && retries.pulses !== null && retries.pulses.count >= 3);
  if (creep.finding !== null && climbs) return { finding: creep.finding, periodMs: null };
  if (unsteady !== null) return { finding: unsteady, periodMs: null };
  return { finding: qualified(level, choice, watch, creep), periodMs: null };
}

/** Retries of the sum, or of a feed that is not in it. */
function retriesOf(all: readonly FeedFigures[], choice: BandChoice, watch: Watch) {
  const own = ruleRetrying(watch);
  if (own.finding !== null) return own;
  for (const other of all) {
    if (choice.feeds.includes(other)) continue;
    const alone = watchOf([other]);
    const retries = alone === null ? null : ruleRetrying(alone);
    if (retries?.finding != null) {
      retries.finding.feed = other.view.feed;
      return retries;
    }
  }
  return own;
}

function qualified(
  level: Finding,
  choice: BandChoice,
  watch: Watch,
  creep: { remark: string | null; doubt: number },
): Finding {
  const because = [...level.because];
  let trust = 1;
  if (choice.missing.length > 0) {
    const low = level.class === "standby-only" || level.class === "open-input" || level.class === "partly-up";
    because.push(
      `${sayNames(choice.missing)} ${choice.missing.length > 1 ? "were" : "was"} not on${low ? ": a low draw is expected with this set of feeds" : ", so the draw is not comparable with a board that has all its feeds"}.`,
    );
    trust *= low ? 0.9 : 0.7;
  }
  because.push(...choice.remarks);
  if (choice.remarks.length > 0) trust *= choice.source === "board" ? 0.9 : 0.8;
  const rivals: Candidate[] = level.rivals.map((each) => ({ ...each }));
  // A climb of next to nothing is no leak.
  const flows = level.class !== "open-input" && level.class !== "standby-only" && level.class !== "cannot-tell";
  if (creep.remark !== null && flows) because.push(creep.remark);
  if (creep.doubt > 0 && flows) rivals.push({ class: "creeping", probability: creep.doubt });
  const hidden = hiddenRetry(level, watch);
  if (hidden !== null) {
    because.push(hidden.says);
    rivals.push({ class: "retrying", probability: hidden.probability });
    trust *= 1 - hidden.probability;
  }
  const needsWatch = level.class !== "open-input";
  if (needsWatch && watch.lengthMs < LEAST_LEVEL_MS) {
    because.splice(
      0,
      because.length,
      `The record ends ${sayMs(watch.lengthMs)} after the nominal voltage was reached: too early for a level, and what a start that its limit does not carry leaves behind, or an overload.`,
    );
    return { class: "cannot-tell", probability: 0, rivals: [...LIMIT_RIVALS], because };
  }
  const slack = watch.intervalMs ?? 0;
  const tooShort = watch.lengthMs < LIMITS.leastWatchMs - 2 * slack - 50;
  const unsettled =
    watch.levelReadings < 5 || (watch.stretches.length > 1 && watch.levelLengthMs < Math.min(500, watch.lengthMs / 4));
  if (needsWatch && (tooShort || unsettled)) {
    because.push(
      tooShort
        ? `The watch lasted ${sayMs(watch.lengthMs)}; under ${sayMs(LIMITS.leastWatchMs)} a start that is still going on cannot be told from where it stays.`
        : `The last level was held for only ${sayMs(watch.levelLengthMs)}, ${watch.levelReadings} readings: not settled.`,
    );
    const own = level.class === "cannot-tell" ? [] : [{ class: level.class, probability: 0.5 * level.probability }];
    return {
      class: "cannot-tell",
      probability: 0,
      rivals: [...own, ...rivals.map((each) => ({ ...each, probability: 0.6 * each.probability }))],
      because,
    };
  }
  if (needsWatch && watch.lengthMs < LIMITS.fullWatchMs - 2 * slack - 50) {
    trust *= 0.85;
    because.push(
      `The watch lasted ${sayMs(watch.lengthMs)}, so patterns slower than ${sayMs(watch.lengthMs / 5)} were not looked for.`,
    );
  }
  if (level.class === "normal") because.push("That is a statement about the draw, not that the board works.");
  if (level.class === "core-alive") because.push(hostSentence(choice));
  return { ...level, probability: level.probability * trust, rivals, because };
}

function hostSentence({ host }: BandChoice): string {
  if (host === "attached") return "A host was attached: the core draws, but not as a good board with a host does.";
  return host === "none"
    ? "Core alive, host not tried: whether a host lists the card is another question."
    : "The core draws; whether a host was attached was not said.";
}

/** A meter too slow for most retries may average them into a low level; the more it flickers, the likelier. */
function hiddenRetry(level: Finding, watch: Watch): { probability: number; says: string } | null {
  const interval = watch.intervalMs ?? 0;
  const quiet = Math.max(0.6 * watch.stepAmps, 0.02 * watch.level.mean, 0.002);
  const flickers = watch.level.stdDev > quiet;
  const low = level.class === "standby-only" || level.class === "partly-up";
  if (!(low || (flickers && level.class === "core-alive")) || interval < 10) return null;
  return {
    probability: flickers ? 0.2 : 0.05,
    says: `A converter that retries in under ${sayMs(3 * interval)} would look like this level to a meter that reads every ${sayMs(interval)}${
      flickers ? ", and this one flickers" : ""
    }.`,
  };
}
