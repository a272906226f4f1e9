import type { SweepLine, SweepRail } from "../../shared/sweep.ts";
import type { WireSweep } from "../../shared/wire.ts";

export const sweptRail = (rail: string, volts: number, over: Partial<SweepRail> = {}): SweepRail => ({
  rail,
  quantity: "volts",
  volts,
  expandedVolts: 0.004,
  verdict: "pass",
  conformity: 0.999,
  limits: [volts * 0.95, volts * 1.05],
  because: [`${rail} reads ${volts} V`],
  how: "contact",
  polarity: "red-on-point",
  readings: 12,
  standardError: 0.0004,
  moving: "no",
  tookMs: 640,
  questioned: null,
  corrects: false,
  neverPower: null,
  ...over,
});

export const placeProbe = (rail: string, point: string): SweepLine => ({
  event: "place-probe",
  rail,
  point,
  quantity: "volts",
  expected: 1.8,
  limits: [1.71, 1.89],
  left: 9,
});

export const liveReading = (rail: string, volts: number): SweepLine => ({
  event: "reading",
  rail,
  volts,
  stable: false,
  motion: "moving",
});

/** A powered sweep at its third rail, the second of which failed. */
export const exampleSweep = (): WireSweep => ({
  sweep: "sweep-1",
  cold: false,
  job: "0193f5a2-7c11-7a44-9d1e-5a6b7c8d9e10",
  lines: [
    { event: "draw", class: "partly-up", watchedFor: 3 },
    { event: "rail", ...sweptRail("5v", 5.02) },
    {
      event: "rail",
      ...sweptRail("3v3", 0.42, {
        verdict: "fail",
        limits: [3.135, 3.465],
        because: ["3v3 reads 420 mV ± 4 mV; it should read 3.14 V to 3.47 V"],
      }),
    },
    placeProbe("1v8", "the capacitor C812 beside the memory, its side away from the edge"),
  ],
});

export const sweepDone = (): SweepLine => ({
  event: "done",
  ended: "all-visited",
  because: [],
  rails: [sweptRail("5v", 5.02), sweptRail("3v3", 0.42, { verdict: "fail" })],
  diagnosis: {
    faults: [
      {
        element: "3v3",
        kind: "not enabled",
        probability: 0.81,
        because: ["3v3 reads 0.42 V while 5v, which it needs, is there."],
        causes: [],
        also: [],
        chipProofs: null,
      },
    ],
    next: [
      {
        measure: "enable of 3v3",
        minutes: 2,
        risk: 1,
        expectedDropBits: 0.9,
        because: "It tells a converter that is not told to start from one that cannot.",
        ask: "Measure the enable pin of the 3v3 converter.",
        energises: true,
        record: { in: "volts", point: null, answers: null },
      },
    ],
    entropyBits: 1.1,
    shortProbability: 0.002,
    held: null,
    notes: [],
  },
  draw: "partly-up",
  readings: null,
  neverPower: [],
  output: "off",
  job: null,
  trip: null,
});
