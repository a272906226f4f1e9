import type { Permit } from "../../shared/permit.ts";
import type { WireDown, WirePreview, WireReading, WireSnapshot } from "../../shared/wire.ts";
import type { RunRequest } from "../../shared/wire-request.ts";

/** A bench of three feeds on a simulated supply, nothing on, nothing run yet. */
export function exampleSnapshot(): WireSnapshot {
  const feed = (name: string, channel: number, nominalVolts: number): WireSnapshot["bench"]["feeds"][number] => ({
    feed: name,
    supply: "psu",
    channel,
    output: "off",
    nominalVolts,
    maxVolts: 32,
    maxAmps: 5,
    sense: "local",
    leadOhms: 0.04,
    readIntervalMs: 50,
    stepAmps: 0.001,
  });
  return {
    program: "0.1.0",
    bench: {
      simulated: true,
      feeds: [feed("slot3v3", 1, 3.3), feed("slot12", 2, 12), feed("aux", 3, 12)],
      instruments: [
        {
          name: "psu",
          kind: "supply",
          address: "TCPIP0::127.0.0.1::5025::SOCKET",
          connected: true,
          silent: false,
          lastAnswerAt: "2026-11-25T11:29:58.000Z",
          identity: "SIMULATED,TRIPLE,0001,1.0",
          serialNumber: "0001",
          driver: "selected-channels",
          watchdog: "none",
          roundTripP99Ms: 2.1,
        },
      ],
      warnings: ['Supply "psu" has no communication watchdog: it stays on if this computer dies.'],
    },
    board: {
      name: "Kestrel K2",
      isDefault: false,
      notes: [],
      cold: [
        { point: "aux", where: null, least: 300, most: null },
        { point: "aux:core", where: null, least: 100, most: null },
        { point: "core", where: "inductor L12, side of the core", least: 0.1, most: 5 },
      ],
      tree: [
        { name: "slot3v3", kind: "feed", volts: 3.3, needs: [] },
        { name: "slot12", kind: "feed", volts: 12, needs: [] },
        { name: "aux", kind: "feed", volts: 12, needs: [] },
        { name: "12v", kind: "rail", volts: 12, needs: ["feed:aux"] },
        { name: "5v", kind: "rail", volts: 5, needs: ["12v"] },
        { name: "3v3", kind: "rail", volts: 3.3, needs: ["5v"] },
        { name: "1v8", kind: "rail", volts: 1.8, needs: ["5v"] },
        { name: "mem", kind: "rail", volts: 1.35, needs: ["12v", "1v8"] },
        { name: "core", kind: "rail", volts: 0.85, needs: ["12v", "1v8"] },
        { name: "reset", kind: "signal", volts: 3.3, needs: ["3v3"] },
      ],
      photos: [{ caption: "front", points: { "1v8": { x: 0.62, y: 0.4 }, core: { x: 0.4, y: 0.6 } } }],
    },
    permit: null,
    run: null,
    trace: [],
    verdict: null,
    alarm: null,
    question: null,
    sweep: null,
    log: [],
    jobs: [
      {
        id: "0193f5a2-7c11-7a44-9d1e-5a6b7c8d9e0f",
        title: "Kestrel K2, no picture",
        startedAt: "2026-11-25T09:12:00Z",
        class: "standby-only",
      },
    ],
  };
}

export const exampleReading = (atMs: number, volts: number, amps: number, mode: "cv" | "cc" = "cv"): WireReading => ({
  atMs,
  volts: { kind: "value", volts },
  amps: { kind: "value", amps },
  watts: volts * amps,
  mode,
});

export const exampleFrame = (
  atMs: number,
  feeds: Record<string, [volts: number, amps: number]>,
  ageMs = 20,
): Extract<WireDown, { type: "frame" }> => ({
  type: "frame",
  gap: false,
  feeds: Object.entries(feeds).map(([feed, [volts, amps]]) => ({
    feed,
    output: volts > 0.5 ? "on" : "off",
    ageMs,
    readings: [exampleReading(atMs, volts, amps)],
  })),
});

export const examplePermit = (): Permit => ({
  granted: false,
  items: [
    {
      id: "identified",
      feed: null,
      asks: "Instruments identified",
      state: "holds",
      evidence: "psu answers as SIMULATED,TRIPLE,0001",
      ageMs: 4000,
      waived: null,
    },
    {
      id: "residual:aux",
      feed: "aux",
      asks: "Less than 0.3 V left on the feed",
      state: "holds",
      evidence: "0.002 V",
      ageMs: 900,
      waived: null,
    },
    {
      id: "cold:aux",
      feed: "aux",
      asks: "Cold ohms to ground at least 300 Ω",
      state: "holds",
      evidence: "12.4 kΩ, taken by hand",
      ageMs: 60_000,
      waived: null,
    },
    {
      id: "cold:aux:core",
      feed: "aux",
      asks: "Cold ohms from 12 V to core at least 100 Ω",
      state: "not-done",
      evidence: "no reading",
      ageMs: null,
      waived: null,
    },
    {
      id: "polarity",
      feed: null,
      asks: "Polarity checked at the card end",
      state: "not-done",
      evidence: "not said",
      ageMs: null,
      waived: null,
    },
  ],
  refusedBecause: ["two conditions are not done"],
});

export const examplePreview = (permit: Permit = examplePermit()): WirePreview => ({
  permit,
  feeds: [
    { feed: "slot3v3", volts: 3.3, limitAmps: 0.5, highestAmps: 1 },
    { feed: "slot12", volts: 12, limitAmps: 1, highestAmps: 2 },
    { feed: "aux", volts: 12, limitAmps: 3, highestAmps: 5 },
  ],
  cautions: [
    "Keep the supply's own switch in reach: the program's off is not an emergency stop.",
    "Eye protection on: a capacitor can burst at first power.",
  ],
});

export const exampleRequest = (): RunRequest => ({
  board: null,
  coldOhms: { aux: 12_400, "aux:core": 3_100 },
  conditions: {
    host: "none",
    fans: "off",
    cooler: "bare",
    polarityChecked: true,
    commonReturn: true,
    sidebandStrapped: true,
    pairsUnplugged: null,
  },
  waiver: null,
  watchSeconds: null,
  keepOn: false,
  job: null,
});
