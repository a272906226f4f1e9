import type { DrawInput } from "../../shared/draw-input.ts";
import type { Candidate, DrawVerdict, FeedDraw } from "../../shared/draw-verdict.ts";
import { StageName } from "../../shared/plan.ts";
import { sayAmps, sayJoules, sayMs, sayOhms, sayVolts } from "../../shared/words/amounts.ts";
import { medianOf } from "../analysis/quantile.ts";
import { type BandChoice, chooseBands } from "./band-choice.ts";
import { type Calibration, calibrated } from "./calibrate.ts";
import { CALIBRATION } from "./calibration.ts";
import { drawEnergyOf, drawFeaturesOf } from "./draw-features.ts";
import { feedDrawsOf, withFeedDraws } from "./feed-draws.ts";
import { type FeedFigures, feedFiguresOf, touchedClean } from "./feed-figures.ts";
import type { FeedView } from "./feed-view.ts";
import { drawUncertaintyOf } from "./figure-uncertainty.ts";
import { candidatesOf, type Finding } from "./finding.ts";
import { markSentences } from "./marks-in-draw.ts";
import { ruleBackFeed } from "./rule-back-feed.ts";
import { ruleDipped, ruleFallen } from "./rule-fallen.ts";
import { LIMIT_RIVALS, ruleLimited } from "./rule-limited.ts";
import { ruleShort } from "./rule-short.ts";
import { withTrip } from "./rule-tripped.ts";
import { limitsFor } from "./verdict-limits.ts";
import { type Watch, watchOf } from "./watch.ts";
import { watchFindingOf } from "./watch-finding.ts";

/**
 * The class of a board's draw from the readings of a first power-up, with its rivals, the sentences it rests on and the
 * figures behind them. Depends on nothing but `input` (and the probabilities on `calibration`, by default the shipped one). Precedence, since a wrong "healthy" costs most: dead short, other
 * shorts at low voltage, back-feed, volts that are gone at the end, a climb that ended in the limit, the limit, retrying, creeping, unsteady, level.
 * No healthy class stands after a cut for the board. `cannot-tell` where the readings do not decide. Never throws for readings that make no sense: it says so.
 */
export function verdictOnDraw(input: DrawInput, calibration: Calibration = CALIBRATION): DrawVerdict {
  const limits = limitsFor(input);
  const all = input.traces.map((trace) => feedFiguresOf(trace, input, limits));
  const choice = chooseBands(input, all);
  const watch = choice.feeds.length === 0 ? null : watchOf(choice.feeds);
  const draws = feedDrawsOf(all, watch);
  const { finding: read, periodMs } = decided(input, { all, choice, watch, draws });
  const finding = withTrip(read, input.trip);
  const main =
    all.find(({ view }) => view.feed === finding.feed) ?? heaviest(choice.feeds.length > 0 ? choice.feeds : all);
  const energy = drawEnergyOf(all);
  const features = drawFeaturesOf(all, main, watch, { periodMs, finding });
  const because = [...finding.because, ...markSentences(input, watch, finding.class)];
  if (energy.joules === null) {
    because.push(
      `Volts and amps were not read at the same time, so the energy is only known to be at most ${sayJoules(energy.atMost)}.`,
    );
  }
  return {
    class: finding.class,
    ...(finding.sub === undefined ? {} : { sub: finding.sub }),
    candidates: calibrated(finding, candidatesOf(finding), calibration),
    because,
    features,
    energyJoules: energy.joules,
    feeds: draws,
    uncertainty: drawUncertaintyOf({ all, main, watch, finding }, features, energy.joules),
    ...(input.baseline == null || input.baseline.because.length === 0 ? {} : { baseline: input.baseline }),
  };
}

interface Decided {
  finding: Finding;
  periodMs: number | null;
}

interface Judged {
  all: readonly FeedFigures[];
  choice: BandChoice;
  watch: Watch | null;
  draws: readonly FeedDraw[];
}

function decided(input: DrawInput, { all, choice, watch, draws }: Judged): Decided {
  const just = (finding: Finding): Decided => ({ finding, periodMs: null });
  const shorts = all.map(ruleShort).filter((finding) => finding !== null);
  const worst =
    shorts.find((each) => each.class === "dead-short") ?? shorts.find((each) => each.class === "overload") ?? shorts[0];
  if (worst !== undefined) return just(worst);
  const backFed = ruleBackFeed(all);
  if (backFed !== null) return just(backFed);
  const fallen = all.map(ruleFallen).find((finding) => finding !== null);
  if (fallen !== undefined) return just(fallen);
  const limits = all.map((figures) => ruleLimited(figures, input)).filter((finding) => finding !== null);
  const limited = limits.find((each) => each.class === "dead-short") ?? limits[0];
  const watched = watch === null ? null : watchFindingOf(all, choice, watch);
  const climbed = watched?.finding.class === "creeping" || watched?.finding.sub === "leaky";
  if (limited !== undefined && !(climbed && limited.class !== "dead-short" && limited.sub !== "start-loop"))
    return just(limited);
  const dipped = all.map(ruleDipped).find((finding) => finding !== null);
  const tellsOfIt = watched?.finding.class === "retrying" || climbed;
  if (dipped !== undefined && !tellsOfIt) return just(dipped);
  if (watched === null || watch === null) return just(nothingToJudge(all));
  return { ...watched, finding: withFeedDraws(watched.finding, { draws, all, counted: watch.feeds }) };
}

function nothingToJudge(all: readonly FeedFigures[]): Finding {
  const ran = all.filter(({ runs }) => runs.length > 0);
  const readings = all.reduce((sum, { view }) => sum + view.trace.atMs.length, 0);
  const low = ran.some(({ looks }) => looks.length > 0);
  const clean = ran.length > 0 && ran.every(touchedClean);
  const tried = ran.flatMap(({ attempts }) => attempts);
  const limitedMs = Math.max(0, ...tried.map((attempt) => attempt.limitedMs));
  const nominal = all.reduce((sum, { view }) => sum + nominalReadings(view), 0);
  const decides = "A second attempt at a higher limit, after a clean touch, decides.";
  const undecided = (says: string, rivals: readonly Candidate[]): Finding => ({
    class: "cannot-tell",
    probability: 0,
    rivals: [...rivals],
    because: [says],
  });
  if (limitedMs > 0) {
    return undecided(
      `The record ends ${sayMs(limitedMs)} after the limit was reached, before the capacitors can be charged and before a nominal voltage was reached. ${decides}`,
      LIMIT_RIVALS,
    );
  }
  if (tried.length > 0 || nominal > 0) {
    return undecided(
      `The record ends ${nominal > 0 ? `${nominal} readings after the nominal voltage was switched on` : "before the feeds had settled at their nominal voltages"}: either a start that the limit cannot supply, or an overload. ${decides}`,
      LIMIT_RIVALS,
    );
  }
  const doubtful = ran.flatMap(({ view, looks }) =>
    looks.filter(({ amps }) => amps > 1.5 * view.stepAmps && view.stepAmps > 0),
  );
  const [seen] = doubtful;
  if (low && clean && seen !== undefined) {
    return undecided(
      `${sayAmps(seen.amps)} at ${sayVolts(seen.volts)} would be ${sayOhms(seen.ohms)}, but the meter's steps are too coarse to be sure of the current. The cold ohms of the input decide between a partial short and a board in standby.`,
      [
        { class: "overload", probability: 0.6 },
        { class: "standby-only", probability: 0.3 },
      ],
    );
  }
  if (ran.length === 0)
    return undecided(
      `No feed was on in ${readings === 1 ? "the one reading" : `any of the ${readings} readings`}.`,
      [],
    );
  return undecided(
    low && clean
      ? "Only low voltages were tried, and nothing conducts there. No short was seen; the nominal voltage must show the rest."
      : "The record ends before any voltage had settled.",
    [],
  );
}

/** Readings taken in the rise or the watch, whether or not any showed volts. */
function nominalReadings({ trace: { stage } }: FeedView): number {
  if (stage === null) return 0;
  const nominal = [StageName.options.indexOf("rise"), StageName.options.indexOf("watch")];
  return stage.reduce((sum, each) => sum + (nominal.includes(each) ? 1 : 0), 0);
}

function heaviest(all: readonly FeedFigures[]): FeedFigures | undefined {
  const amps = ({ view, attempts, looks }: FeedFigures) => {
    const last = attempts[attempts.length - 1];
    return last === undefined
      ? (looks[looks.length - 1]?.amps ?? 0)
      : medianOf(view.trace.amps.subarray(last.from, last.to));
  };
  return all.reduce<FeedFigures | undefined>(
    (most, each) => (most === undefined || amps(each) > amps(most) ? each : most),
    undefined,
  );
}
