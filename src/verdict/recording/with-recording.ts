import type { DrawInput } from "../../../shared/draw-input.ts";
import type { DrawVerdict } from "../../../shared/draw-verdict.ts";
import type { RecordedChannel, RecordedFigures, RecordedRun } from "../../../shared/record/recording.ts";
import { sayAmps, sayMs } from "../../../shared/words/amounts.ts";
import { at } from "../../analysis/at.ts";
import { noiseOf } from "../../analysis/noise.ts";
import { type Retries, ruleRetrying } from "../rule-retrying.ts";
import { limitsFor } from "../verdict-limits.ts";
import { recordedZero } from "./recorded-zero.ts";
import { recordingDoubt } from "./recording-doubt.ts";

/** A start has its own pulses: a beat is looked for behind so much of the record. */
const START_SHARE = 0.2;

/**
 * The verdict with what a recorder took down beside it. A record that does not fit the readings changes nothing but a sentence. One that
 * does turns the greatest current from a bound into a value, and where the readings left open whether the draw pulses, decides that: it
 * may say `retrying` only where the readings have it among their candidates, and never takes a candidate away.
 */
export function withRecording(verdict: DrawVerdict, input: DrawInput, recorded: RecordedRun): DrawVerdict {
  const zero = recordedZero(recorded, input.traces);
  const doubt = recordingDoubt(recorded, input.traces, zero);
  const amps = recorded.channels.filter((each) => each.of.reads === "amps");
  const figures: RecordedFigures = {
    instrument: recorded.instrument,
    used: doubt === null,
    sampleMs: recorded.stepMs,
    lengthMs: recorded.stepMs * Math.max(1, (recorded.channels[0]?.values.length ?? 1) - 1),
    zeroMs: zero?.atMs ?? null,
    zeroExpandedMs: zero?.expandedMs ?? null,
    peaks: doubt === null ? Object.fromEntries(amps.map((each) => [each.of.point, peakOf([each], recorded)])) : {},
    coversAll: false,
    readPeakAmps: verdict.features.peakAmps,
    periodMs: null,
    because: doubt === null ? [] : [`The recording of ${recorded.instrument} is not used. ${doubt}`],
  };
  if (doubt !== null) return { ...verdict, recorded: figures };
  const whole = withPeak(verdict, recorded, amps, figures);
  return withBeat(whole, amps, recorded, input);
}

function withPeak(
  verdict: DrawVerdict,
  recorded: RecordedRun,
  amps: readonly RecordedChannel[],
  figures: RecordedFigures,
): DrawVerdict {
  const feeds = (verdict.feeds ?? []).map((each) => each.feed);
  const counted = amps.filter((each) => feeds.includes(each.of.point));
  if (feeds.length === 0 || counted.length < feeds.length) return { ...verdict, recorded: figures };
  const peak = peakOf(counted, recorded);
  if (peak.isClipped) {
    const says = `The recorder's range ends at ${sayAmps(peak.amps)}, so the greatest current is at least that.`;
    return { ...verdict, recorded: { ...figures, because: [says] } };
  }
  return {
    ...verdict,
    features: { ...verdict.features, peakAmps: peak.amps },
    ...(verdict.uncertainty === undefined
      ? {}
      : { uncertainty: { ...verdict.uncertainty, peakAmps: peak.expandedAmps } }),
    recorded: {
      ...figures,
      coversAll: true,
      because: [
        `The greatest current was ${sayAmps(peak.amps, peak.expandedAmps)}, ${sayMs(peak.atMs)} after the feed rose, seen every ${sayMs(recorded.stepMs)}.`,
      ],
    },
  };
}

/** The greatest sum of these channels from the trigger on, with its expanded uncertainty. */
function peakOf(
  channels: readonly RecordedChannel[],
  { firstMs, stepMs }: RecordedRun,
): RecordedFigures["peaks"][string] {
  const n = channels[0]?.values.length ?? 0;
  let best = { amps: Number.NEGATIVE_INFINITY, atMs: 0 };
  for (let i = 0; i < n; i++) {
    const atMs = firstMs + i * stepMs;
    const amps = channels.reduce((sum, each) => sum + at(each.values, i), 0);
    if (amps > best.amps) best = { amps, atMs };
  }
  const halfWidth = Math.hypot(...channels.map((each) => each.halfWidth));
  return {
    ...best,
    // Accuracy of full scale is a bound: a rectangle (JCGM 100:2008, 4.3.7).
    expandedAmps: (2 * halfWidth) / Math.sqrt(3),
    isClipped: channels.some((each) => each.clipped > 0),
  };
}

function withBeat(
  verdict: DrawVerdict,
  amps: readonly RecordedChannel[],
  recorded: RecordedRun,
  input: DrawInput,
): DrawVerdict {
  const { recorded: figures } = verdict;
  const isOpen = verdict.class !== "retrying" && verdict.candidates.some((each) => each.class === "retrying");
  if (figures === undefined || !isOpen) return verdict;
  for (const channel of amps) {
    const { finding, period } = beatIn(channel, recorded, input);
    if (finding === null || period === null) continue;
    const others = verdict.candidates.filter((each) => each.class !== "retrying");
    const total = others.reduce((sum, each) => sum + each.probability, 0);
    const left = 1 - finding.probability;
    const { sub: _, ...rest } = verdict;
    return {
      ...rest,
      class: "retrying",
      candidates: [
        { class: "retrying", probability: finding.probability },
        ...others.map((each) => ({ ...each, probability: total > 0 ? (left * each.probability) / total : 0 })),
      ],
      because: [
        `The recorder ${recorded.instrument} on ${channel.of.point} shows: ${finding.because.join(" ")}`,
        `The supply's readings alone said ${verdict.class}.`,
      ],
      features: { ...verdict.features, periodMs: period.periodMs },
      recorded: { ...figures, periodMs: period.periodMs },
    };
  }
  return verdict;
}

function beatIn({ values, halfWidth }: RecordedChannel, { firstMs, stepMs }: RecordedRun, input: DrawInput): Retries {
  const from = Math.max(0, Math.round(-firstMs / stepMs)) + Math.round(START_SHARE * values.length);
  const amps = values.subarray(Math.min(from, values.length));
  return ruleRetrying({
    atMs: Float64Array.from(amps, (_, i) => i * stepMs),
    amps,
    // A pulse must stand out of what its steps and noise can make; its accuracy moves all of it alike.
    stepAmps: halfWidth / 20,
    noiseAmps: noiseOf(amps),
    intervalMs: stepMs,
    limits: limitsFor(input),
  });
}
