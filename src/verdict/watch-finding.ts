import type { Candidate, DrawClass } from "../../shared/draw-verdict.ts";
import { sayAmps, sayMs } from "../../shared/words/amounts.ts";
import { counted } from "../../shared/words/counted.ts";
import type { BandChoice } from "./band-choice.ts";
import type { FeedFigures } from "./feed-figures.ts";
import { addedUp, type Finding } from "./finding.ts";
import { hiddenRetry } from "./hidden-retry.ts";
import { inrushOf } from "./inrush.ts";
import { ruleCreeping } from "./rule-creeping.ts";
import { ruleLevel } from "./rule-level.ts";
import { LIMIT_RIVALS } from "./rule-limited.ts";
import { ruleRetrying } from "./rule-retrying.ts";
import { ruleUnsteady } from "./rule-unsteady.ts";
import { sayNames } from "./say.ts";
import { type Watch, watchOf } from "./watch.ts";

/** Before this the inrush, soft starts and the filters of meters are still in the readings. */
const LEAST_LEVEL_MS = 500;
/** A hidden retry less likely than this is not worth a sentence. */
const LEAST_SAID = 0.03;

/** The finding of the watch at nominal voltage, with what makes it less sure put beside it. */
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
  const pulses = unsteady !== null && retries.pulses !== null && retries.pulses.count >= 3;
  const climbs = creep.finding !== null && !pulses && (!isTooShort(watch) || leaps(watch));
  if (creep.finding !== null && climbs) return { finding: creep.finding, periodMs: null };
  // A draw that has hardly begun may still be starting, however restless it is.
  if (unsteady !== null && !isTooShort(watch)) return { finding: unsteady, periodMs: null };
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
      `${sayNames(choice.missing)} ${choice.missing.length > 1 ? "were" : "was"} not on${low ? ": a low draw is expected with this set of feeds" : ", so the draw cannot be compared with a board that has all its feeds"}.`,
    );
    trust *= low ? 0.9 : 0.7;
  }
  because.push(...choice.remarks, ...baselineSentences(choice));
  if (choice.remarks.length > 0) trust *= choice.source === "board" ? 0.9 : 0.8;
  const rivals: Candidate[] = level.rivals.map((each) => ({ ...each }));
  // A climb of next to nothing is no leak.
  const flows = level.class !== "open-input" && level.class !== "standby-only" && level.class !== "cannot-tell";
  if (creep.remark !== null && flows) because.push(creep.remark);
  if (creep.doubt > 0 && flows) rivals.push({ class: "creeping", probability: creep.doubt });
  const isOther = level.class === "cannot-tell" || level.class === "open-input" || level.class === "overload";
  const hidden = isOther ? null : hiddenRetry(watch);
  if (hidden !== null && hidden.probability >= LEAST_SAID) {
    because.push(hidden.says);
    rivals.push({ class: "retrying", probability: hidden.probability });
    trust *= 1 - hidden.probability;
  }
  const needsWatch = level.class !== "open-input";
  if (needsWatch && watch.lengthMs < LEAST_LEVEL_MS) {
    because.splice(
      0,
      because.length,
      `The record ends ${sayMs(watch.lengthMs)} after the nominal voltage was reached. That is too early for a level: it may be a start that its limit cannot supply, or an overload.`,
    );
    return { class: "cannot-tell", probability: 0, rivals: [...LIMIT_RIVALS], because };
  }
  const slack = watch.intervalMs ?? 0;
  const tooShort = isTooShort(watch);
  const unsettled =
    watch.levelReadings < 5 || (watch.stretches.length > 1 && watch.levelLengthMs < Math.min(500, watch.lengthMs / 4));
  if (needsWatch && (tooShort || unsettled)) {
    because.push(
      tooShort
        ? `The watch lasted ${sayMs(watch.lengthMs)}. Below ${sayMs(watch.limits.leastWatchMs)}, a start still in progress cannot be told from the final level. A watch of ${sayMs(watch.limits.fullWatchMs)} or more decides.`
        : `The last level was held for only ${sayMs(watch.levelLengthMs)}, ${counted(watch.levelReadings, "reading")}, so it is not settled. A longer watch decides.`,
    );
    const own = level.class === "cannot-tell" ? [] : [{ class: level.class, probability: 0.5 * level.probability }];
    return {
      class: "cannot-tell",
      probability: 0,
      rivals: addedUp([
        ...own,
        ...rivals.map((each) => ({ ...each, probability: 0.6 * each.probability })),
        ...(tooShort ? LIMIT_RIVALS : []).map((each) => ({ ...each, probability: 0.3 * each.probability })),
      ]),
      because,
    };
  }
  if (needsWatch && watch.lengthMs < watch.limits.fullWatchMs - 2 * slack - 50) {
    trust *= 0.85;
    because.push(
      `The watch lasted ${sayMs(watch.lengthMs)}, so patterns slower than ${sayMs(watch.lengthMs / 5)} were not looked for.`,
    );
  }
  if (level.class === "normal")
    because.push("This is a statement about the draw. It does not prove that the board works.");
  if (level.class === "core-alive") because.push(hostSentence(choice));
  return doubted(
    { ...level, probability: level.probability * trust, rivals, because },
    [
      {
        class: "retrying",
        probability: hidden?.probability ?? 0,
        decides: "a scope on the feed, or a meter that reads several times quicker, shows whether it pulses.",
      },
      {
        class: "creeping",
        probability: flows ? creep.doubt : 0,
        decides: "a longer watch, or a meter with finer steps, shows whether it flattens.",
      },
    ],
    watch.limits.faultCalledHealthyCost,
  );
}

/** The record's sentence on good boards, with the entered band beside it. */
function baselineSentences({ baseline, enteredNormal }: BandChoice): string[] {
  if (baseline === null) return [];
  if (baseline.band === null || enteredNormal === null) return baseline.because;
  const [low, high] = enteredNormal;
  return [...baseline.because, `The board file's own band for normal is ${sayAmps(low)} to ${sayAmps(high)}.`];
}

/** By half of itself since the last step: no start that is still going on. */
const LEAP = 1.5;
const leaps = ({ drift }: Watch): boolean => drift !== null && drift.endLevel > LEAP * drift.startLevel;

const isTooShort = ({ lengthMs, intervalMs, limits }: Watch): boolean =>
  lengthMs < limits.leastWatchMs - 2 * (intervalMs ?? 0) - 50;

function hostSentence({ host }: BandChoice): string {
  if (host === "attached") return "A host was attached: the core draws current, but not like a good board with a host.";
  return host === "none"
    ? "Core alive, host not tried: only a host can show whether the card is listed."
    : "The core draws current; it was not stated whether a host was attached.";
}

/** A fault that one more look would show or rule out, and what that look is. */
interface Doubt {
  class: DrawClass;
  probability: number;
  decides: string;
}

/**
 * A class that stands beside a fault too likely to be left out: `cannot-tell`, with what would decide. The bar is lower where the fault would
 * be called healthy, by what that costs.
 */
function doubted(finding: Finding, doubts: readonly Doubt[], cost: number): Finding {
  const isHealthy = finding.class === "core-alive" || finding.class === "normal";
  const bar = isHealthy ? 1 / (1 + cost) : 0.5;
  const worst = doubts.reduce<Doubt | null>(
    (most, each) => (each.probability > (most?.probability ?? 0) ? each : most),
    null,
  );
  if (worst === null || worst.probability < bar || finding.class === "cannot-tell") return finding;
  return {
    class: "cannot-tell",
    probability: 0,
    rivals: [
      { class: worst.class, probability: worst.probability },
      { class: finding.class, probability: finding.probability * (1 - worst.probability) },
      ...finding.rivals.filter((each) => each.class !== worst.class),
    ],
    because: [...finding.because, `That is too likely to leave out, beside ${finding.class}: ${worst.decides}`],
  };
}
