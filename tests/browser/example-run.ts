import type { DrawVerdict } from "../../shared/draw-verdict.ts";
import type { RunOutcome } from "../../shared/plan.ts";
import type { WireReading, WireRun, WireStage, WireStageFeed, WireVerdict } from "../../shared/wire.ts";
import { nextSteps } from "../../shared/words/next-steps.ts";
import { examplePermit, exampleReading, exampleSnapshot } from "../wire/example-snapshot.ts";

const FEEDS = ["slot3v3", "slot12", "aux"];
type Limits = Pick<WireStageFeed, "volts" | "limitAmps" | "overVolts">;
const none: Limits = { volts: 0, limitAmps: 0, overVolts: 0 };
const TOUCH: Limits[] = [
  { volts: 0.8, limitAmps: 0.1, overVolts: 1.5 },
  { volts: 0.9, limitAmps: 0.2, overVolts: 1.5 },
  { volts: 0.9, limitAmps: 0.3, overVolts: 1.5 },
];
const LOW: (Limits | null)[] = [
  null,
  { volts: 3, limitAmps: 0.2, overVolts: 3.45 },
  { volts: 3, limitAmps: 0.3, overVolts: 3.45 },
];
const FULL: Limits[] = [
  { volts: 3.3, limitAmps: 0.5, overVolts: 3.7 },
  { volts: 12, limitAmps: 1, overVolts: 13.2 },
  { volts: 12, limitAmps: 3, overVolts: 13.2 },
];

/** A run of three feeds in its watch, begun 8.6 s ago. */
export function watchedRun(): WireRun {
  const stage = (
    name: WireStage["stage"],
    state: WireStage["state"],
    limits: (Limits | null)[],
    startsMs: number[],
    endsMs: (number | null)[],
  ): WireStage => ({
    stage: name,
    state,
    feeds: FEEDS.map((feed, index) => {
      const each = limits[index] ?? null;
      return {
        feed,
        state: each === null ? "skipped" : state,
        ...(each ?? none),
        maxMs: 500,
        startedAtMs: each === null ? null : (startsMs[index] ?? null),
        endedAtMs: endsMs[index] ?? null,
      };
    }),
  });
  return {
    run: "run-1",
    job: "0193f5a2-7c11-7a44-9d1e-5a6b7c8d9e10",
    startedAt: "2026-11-25T11:30:00.000Z",
    plan: "first power-up",
    settings: FEEDS.flatMap((feed, index) => {
      const span = (limits: Limits | null | undefined, fromMs: number, untilMs: number | null) =>
        limits == null ? [] : [{ feed, ...limits, fromMs, untilMs }];
      const at = (starts: number[]): number => starts[index] ?? 0;
      return [
        ...span(TOUCH[index], at([300, 700, 1100]), at([700, 1100, 1500])),
        ...span(LOW[index], at([0, 1500, 2000]), at([0, 2000, 2500])),
        ...span(FULL[index], at([2500, 2700, 2900]), null),
      ];
    }),
    stages: [
      stage("check", "clean", [none, none, none], [0, 0, 0], [300, 300, 300]),
      stage("touch", "clean", TOUCH, [300, 700, 1100], [700, 1100, 1500]),
      stage("hold-low", "clean", LOW, [1500, 1500, 2000], [null, 2000, 2500]),
      stage("rise", "clean", FULL, [2500, 2700, 2900], [3100, 3100, 3100]),
      stage("watch", "running", FULL, [3100, 3100, 3100], [null, null, null]),
      stage("off", "waiting", [none, none, none], [], []),
    ],
    stage: "watch",
    feed: "aux",
    waitingFor: "five periods of the slowest pattern",
    waitedMs: 5_500,
    expectedMs: 15_000,
    energised: FEEDS,
    outcome: null,
  };
}

/** The auxiliary feed's readings of that run: touch, hold-low, inrush, steps as rails come up, then steady. */
export function watchedTrace(): WireReading[] {
  const readings: WireReading[] = [];
  for (let atMs = 0; atMs <= 8_600; atMs += 50) {
    const wobble = 0.004 * Math.sin(atMs / 130);
    if (atMs < 1100) readings.push(exampleReading(atMs, 0.001, 0));
    else if (atMs < 1500) readings.push(exampleReading(atMs, 0.9, 0.001));
    else if (atMs < 2000) readings.push(exampleReading(atMs, 0.05, 0));
    else if (atMs < 2500) readings.push(exampleReading(atMs, 3, 0.002));
    else if (atMs < 2900) readings.push(exampleReading(atMs, 0.4, 0));
    else if (atMs < 3050)
      readings.push(
        exampleReading(atMs, Math.min(12, (atMs - 2850) * 0.08), atMs < 3000 ? 2.94 : 1.6, atMs < 3000 ? "cc" : "cv"),
      );
    else readings.push(exampleReading(atMs, 12.02, (atMs < 3600 ? 0.12 : atMs < 4400 ? 0.48 : 1.21) + wobble));
  }
  return readings;
}

/** What the daemon tells of that run's verdict. */
export const toldVerdict = (
  verdict: DrawVerdict = exampleVerdict(),
  next: string[] = nextSteps(verdict),
): WireVerdict => ({
  run: "run-1",
  job: "0193f5a2-7c11-7a44-9d1e-5a6b7c8d9e10",
  startedAt: "2026-11-25T11:30:00.000Z",
  verdict,
  next,
});

export const exampleVerdict = (): DrawVerdict => ({
  class: "standby-only",
  candidates: [
    { class: "standby-only", probability: 0.93 },
    { class: "retrying", probability: 0.05 },
    { class: "open-input", probability: 0.02 },
  ],
  because: [
    "The draw settled at 46 mA (±2 mA) within 0.4 s, inside the band 3 to 120 mA for standby only.",
    "There was one inrush of at least 2.1 A: the input fuse is whole.",
    "No pulse was seen in 15 s; at one reading each 50 ms a period under 150 ms would not show.",
  ],
  features: {
    plateauAmps: 0.046,
    peakAmps: 2.1,
    sampleIntervalMs: 50,
    chargeCoulombs: 0.0141,
    inputFarads: 0.00117,
    shortOhms: null,
    limitedMs: 0,
    collapseRatio: null,
    periodMs: null,
    driftAmpsPerMin: 0.0002,
    plateaus: null,
  },
  energyJoules: 8.4,
  uncertainty: {
    plateauAmps: 0.002,
    peakAmps: null,
    chargeCoulombs: null,
    inputFarads: 0.0001,
    shortOhms: null,
    limitedMs: null,
    periodMs: null,
    driftAmpsPerMin: null,
    energyJoules: null,
  },
});

export const exampleOutcome = (over: Partial<RunOutcome> = {}): RunOutcome => ({
  ended: "as-planned",
  trip: null,
  output: "off",
  limitToTry: null,
  raises: 0,
  reachedStage: "off",
  ...over,
});

export const runningSnapshot = () => {
  const quiet = exampleSnapshot();
  return {
    ...quiet,
    bench: { ...quiet.bench, feeds: quiet.bench.feeds.map((feed) => ({ ...feed, output: "on" as const })) },
    permit: { ...examplePermit(), granted: true },
    run: watchedRun(),
    trace: [{ feed: "aux", readings: watchedTrace() }],
  };
};
