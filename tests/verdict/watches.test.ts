import { describe, expect, it } from "vitest";
import { UNNAMED_FEED } from "../../shared/draw-input.ts";
import { BoardFile } from "../../shared/files/board-file.ts";
import { verdictOnDraw } from "../../src/verdict/draw-verdict.ts";
import { BOARD, CLEAN_TOUCH, inputOf, OFF, type Part, type TraceOptions, traceOf, watched } from "./synthetic.ts";

const verdictOf = (
  amps: Part["amps"],
  ms = 15_000,
  options: TraceOptions = {},
  rest: Parameters<typeof inputOf>[1] = {},
) => verdictOnDraw(inputOf([traceOf([OFF, CLEAN_TOUCH, OFF, ...watched(ms, amps)], options)], rest));

describe("a settled draw against the board's bands", () => {
  it.each([
    [0.0002, "open-input"],
    [0.03, "standby-only"],
    [0.2, "partly-up"],
    [0.5, "core-alive"],
    [0.85, "normal"],
  ])("%f A is %s", (amps, name) => {
    const verdict = verdictOf(amps);
    expect(verdict.class).toBe(name);
    expect(verdict.features.plateauAmps).toBeCloseTo(amps, 2);
    expect(verdict.candidates[0]).toMatchObject({ class: name });
    expect(verdict.candidates[0]?.probability).toBeGreaterThan(0.7);
  });
  it("is an overload from one and a half times the highest healthy band, and cannot-tell up to there", () => {
    expect(verdictOf(1.8)).toMatchObject({ class: "overload", sub: "over-demand" });
    const between = verdictOf(1.3);
    expect(between.class).toBe("cannot-tell");
    expect(between.candidates.map((each) => each.class)).toEqual(["overload", "normal"]);
  });
  it("is cannot-tell within two standard uncertainties of the next band, with both as candidates", () => {
    const verdict = verdictOf(0.351);
    expect(verdict.class).toBe("cannot-tell");
    expect(verdict.candidates.map((each) => each.class).sort()).toEqual(
      expect.arrayContaining(["core-alive", "partly-up"]),
    );
  });
  it("is cannot-tell in a gap between bands", () => {
    expect(verdictOf(0.625).class).toBe("cannot-tell");
  });
  it("says of normal that it is about the draw", () => {
    expect(verdictOf(0.85).because.join(" ")).toContain("It does not prove that the board works");
  });
  it("says of core-alive without a host that the host was not tried", () => {
    expect(verdictOf(0.5).because.join(" ")).toContain("host not tried");
  });
});

describe("conditions", () => {
  it("that were not said make it less sure and are named", () => {
    const said = verdictOf(0.85);
    const unsaid = verdictOf(0.85, 15_000, {}, { conditions: { host: "unknown", fans: "unknown" } });
    expect(unsaid.class).toBe("normal");
    expect(unsaid.candidates[0]?.probability ?? 1).toBeLessThan(said.candidates[0]?.probability ?? 0);
    expect(unsaid.because.join(" ")).toContain("whether the fans ran");
  });
  it("without bands of their own leave no normal", () => {
    const verdict = verdictOf(0.85, 15_000, {}, { conditions: { host: "none", fans: "on" } });
    expect(verdict.class).toBe("core-alive");
    expect(verdict.because.join(" ")).toContain("no bands for host none, fans on");
  });
  it("that fit two sets of bands which disagree are cannot-tell", () => {
    const two = BoardFile.parse({
      ...BOARD,
      idleAmps: [
        ...BOARD.idleAmps,
        { when: { fans: "on" }, of: ["in12"], bands: { "core-alive": [0.6, 0.95], normal: [1, 1.5] } },
      ],
    });
    const verdict = verdictOf(0.85, 15_000, {}, { board: two, conditions: { host: "none", fans: "unknown" } });
    expect(verdict.class).toBe("cannot-tell");
    expect(verdict.candidates.map((each) => each.class).sort()).toEqual(
      expect.arrayContaining(["core-alive", "normal"]),
    );
  });
});

describe("an unknown board", () => {
  // Idle bands of an un-enumerated card: common practice, no source.
  it.each([
    [0.0001, "open-input"],
    [0.05, "standby-only"],
    [0.25, "partly-up"],
    [1.2, "core-alive"],
    [0.45, "cannot-tell"],
    [4, "cannot-tell"],
  ])("that draws %f A is %s, never normal", (amps, name) => {
    const verdict = verdictOf(amps, 15_000, {}, { board: null });
    expect(verdict.class).toBe(name);
    expect(verdict.candidates.map((each) => each.class)).not.toContain("normal");
    if (name !== "open-input") expect(verdict.because.join(" ")).toContain("defaults");
  });
  it("has no bands for another voltage", () => {
    const parts: Part[] = [{ stage: "watch", ms: 6000, set: 3.3, limit: 1, volts: 3.3, amps: 0.05 }];
    const verdict = verdictOnDraw(inputOf([traceOf(parts, { feed: "slot3v3" })], { board: null }));
    expect(verdict.class).toBe("cannot-tell");
  });
});

describe("several feeds", () => {
  const board = BoardFile.parse({
    version: 1,
    name: "Kestrel K2",
    feeds: { slot12: { nominalVolts: 12 }, aux: { nominalVolts: 12 }, slot3v3: { nominalVolts: 3.3 } },
    idleAmps: [
      { of: ["slot12", "aux"], bands: { "standby-only": [0.003, 0.12], "partly-up": [0.12, 0.55], normal: [1.9, 3] } },
    ],
  });
  const feed = (name: string, amps: number, volts = 12, ms = 6000) =>
    traceOf([OFF, { stage: "watch", ms, set: volts, limit: 3, volts, amps }, OFF], { feed: name, seed: name.length });
  it("are added up over those of the bands", () => {
    const verdict = verdictOnDraw(
      inputOf([feed("slot3v3", 0.05, 3.3), feed("slot12", 0.6), feed("aux", 1.9)], { board }),
    );
    expect(verdict.class).toBe("normal");
    expect(verdict.features.plateauAmps).toBeCloseTo(2.5, 2);
  });
  it("of which one is missing: a low draw is standby, and expected", () => {
    const verdict = verdictOnDraw(inputOf([feed("slot3v3", 0.05, 3.3), feed("slot12", 0.03)], { board }));
    expect(verdict.class).toBe("standby-only");
    expect(verdict.because.join(" ")).toContain("aux was not on: a low draw is expected with this set of feeds");
  });
  it("are taken as one where the file names none", () => {
    const verdict = verdictOnDraw(inputOf([feed(UNNAMED_FEED, 2.5)], { board }));
    expect(verdict.class).toBe("normal");
    expect(verdict.because.join(" ")).toContain("whole draw of slot12 and aux");
  });
});

describe("the length of a watch", () => {
  it("under 3 s leaves a level undecided, with its class as a candidate", () => {
    const verdict = verdictOf(0.85, 1500);
    expect(verdict.class).toBe("cannot-tell");
    expect(verdict.candidates[0]?.class).toBe("normal");
  });
  it("of 3 to 5 s gives a class with less trust and says what was not looked for", () => {
    const [short, long] = [verdictOf(0.85, 3400), verdictOf(0.85, 15_000)];
    expect(short.class).toBe("normal");
    expect(short.candidates[0]?.probability ?? 1).toBeLessThan(long.candidates[0]?.probability ?? 0);
    expect(short.because.join(" ")).toContain("were not looked for");
  });
  it("does not matter for an open input", () => {
    expect(verdictOf(0.0001, 600).class).toBe("open-input");
  });
});

describe("open and standby", () => {
  it("cannot be told apart with steps of 10 mA", () => {
    for (const amps of [0, 0.012, 0.02]) {
      const verdict = verdictOf(amps, 15_000, { stepAmps: 0.01 });
      expect(verdict.class).toBe("cannot-tell");
      expect(verdict.candidates.map((each) => each.class).sort()).toEqual(["open-input", "standby-only"]);
    }
  });
  it("are told apart by a charge that went in", () => {
    const rise: Part = {
      stage: "rise",
      ms: 60,
      set: 12,
      limit: 1,
      volts: (t) => Math.min(12, 0.4 * t),
      amps: (t) => (t < 30 ? 1 : 0),
    };
    const trace = traceOf([OFF, CLEAN_TOUCH, OFF, rise, ...watched(6000, 0).slice(1)], {
      intervalMs: 5,
      stepAmps: 0.01,
    });
    const verdict = verdictOnDraw(inputOf([trace]));
    expect(verdict.class).toBe("standby-only");
    expect(verdict.because.join(" ")).toContain("charge");
  });
});

describe("retrying", () => {
  const pulses =
    (periodMs: number, onMs: number, high = 1.5) =>
    (t: number) =>
      t % periodMs < onMs ? high : 0.05;
  // Retry intervals of regulators: 118 and 265 ms; supervisory firmware: 0.3–3 s.
  it.each([
    [265, 26, 12],
    [500, 100, 50],
    [1000, 150, 50],
    [2700, 400, 100],
  ])("every %i ms, %i ms on, is seen by a meter that reads every %i ms", (periodMs, onMs, intervalMs) => {
    const verdict = verdictOf(pulses(periodMs, onMs), 15_000, { intervalMs, jitter: 0.2 });
    expect(verdict.class).toBe("retrying");
    expect(Math.abs((verdict.features.periodMs ?? 0) - periodMs) / periodMs).toBeLessThan(0.02);
  });
  it.each([
    [41, 4, 50],
    [16, 2, 20],
    [118, 12, 100],
  ])(
    "every %i ms, %i ms on, is beyond a meter that reads every %i ms: cannot-tell with retrying as a candidate",
    (periodMs, onMs, intervalMs) => {
      const verdict = verdictOf(pulses(periodMs, onMs), 15_000, { intervalMs, jitter: 0.4 });
      expect(verdict.class).toBe("cannot-tell");
      expect(verdict.candidates[0]?.class).toBe("retrying");
      expect(verdict.features.periodMs).toBeNull();
    },
  );
  it("needs four pulses", () => {
    expect(verdictOf((t) => (t > 4000 && t < 4200 ? 1.5 : 0.2)).class).not.toBe("retrying");
  });
  it("is listed for a low level that a slow meter may have averaged", () => {
    const verdict = verdictOf(0.05, 15_000, { intervalMs: 100 });
    expect(verdict.class).toBe("standby-only");
    expect(verdict.candidates.map((each) => each.class)).toContain("retrying");
  });
});

describe("creeping", () => {
  // A healthy board climbs by 2–8 % with a time constant of 60–300 s: common practice, no source.
  it.each([
    [0.02, 60_000],
    [0.05, 60_000],
    [0.08, 60_000],
    [0.08, 300_000],
  ])("is not a climb of %f with a time constant of %i ms", (share, tauMs) => {
    for (const seconds of [3.4, 15, 90]) {
      for (const stepAmps of [0.001, 0.01]) {
        const verdict = verdictOf((t) => 0.85 * (1 + share * -Math.expm1(-t / tauMs)), seconds * 1000, { stepAmps });
        expect(verdict.class, `${seconds} s: ${verdict.because.join(" ")}`).toBe("normal");
      }
    }
  });
  it.each([5, 15, 60])("is a climb of 1 %% a second that grows, in %i s", (seconds) => {
    const verdict = verdictOf((t) => 0.75 + 0.0075 * (t / 1000) * (1 + t / 60_000), seconds * 1000);
    expect(verdict.class).toBe("creeping");
    expect(verdict.features.driftAmpsPerMin).toBeGreaterThan(0.3);
  });
  it("that ends in the limit is creeping, not an overload", () => {
    const climb: Part[] = [
      { stage: "rise", ms: 40, set: 12, limit: 2, volts: 12, amps: 0.8, mode: "cv" },
      { stage: "watch", ms: 8000, set: 12, limit: 2, volts: 12, amps: (t) => 0.8 * Math.exp(t / 8800), mode: "cv" },
      { stage: "watch", ms: 1300, set: 12, limit: 2, volts: 8, amps: 2, mode: "cc" },
    ];
    expect(verdictOnDraw(inputOf([traceOf([OFF, CLEAN_TOUCH, OFF, ...climb, OFF])])).class).toBe("creeping");
  });
  it("from above the healthy band is an overload that leaks", () => {
    expect(verdictOf((t) => 1.8 + 0.02 * (t / 1000), 15_000, {}, {})).toMatchObject({
      class: "overload",
      sub: "leaky",
    });
  });
  it("is not a fan that starts", () => {
    const verdict = verdictOf((t) => (t < 700 ? 1.6 : 0.9));
    expect(verdict.class).toBe("normal");
    expect(verdict.features.plateaus?.length).toBe(2);
  });
});

describe("a draw that keeps no level", () => {
  it("is cannot-tell", () => {
    // Irregular on purpose: dwell times from a table, in ms.
    const dwells = [420, 180, 730, 260, 510, 90, 840, 330, 150, 620, 280, 470, 210, 390, 560, 120, 700, 240, 440, 310];
    const levelAt = (t: number): number => {
      let left = t % 7650;
      for (const [index, dwell] of dwells.entries()) {
        if (left < dwell) return index % 2 === 0 ? 0.8 : 0.4;
        left -= dwell;
      }
      return 0.8;
    };
    const verdict = verdictOf(levelAt, 7600);
    expect(verdict.class).toBe("cannot-tell");
    expect(verdict.candidates[0]?.class).toBe("retrying");
  });
});

describe("a feed that carries nothing beside one that does", () => {
  const board = BoardFile.parse({
    version: 1,
    name: "Wren W2",
    feeds: { slot12: { nominalVolts: 12 }, aux: { nominalVolts: 12 } },
    idleAmps: [
      {
        when: {},
        of: ["slot12", "aux"],
        bands: { "open-input": [0, 0.003], "standby-only": [0.003, 0.12], normal: [0.9, 1.4] },
      },
    ],
  });
  const parts = (amps: number) => [OFF, CLEAN_TOUCH, OFF, ...watched(8000, amps)];
  const both = (slot: number, aux: number) =>
    verdictOnDraw(
      inputOf(
        [
          traceOf(parts(slot), { feed: "slot12", noiseAmps: 0 }),
          traceOf([OFF, { ...CLEAN_TOUCH, amps: 0 }, OFF, ...watched(8000, aux)], { feed: "aux", noiseAmps: 0 }),
        ],
        { board },
      ),
    );
  it("is said to be open behind its connector, with a figure for each feed, beside the class of the rest", () => {
    const verdict = both(0.05, 0);
    expect(verdict.class).toBe("standby-only");
    expect(verdict.because.join(" ")).toMatch(
      /Feed aux stands at 12 V and carries no current.* open behind its connector/,
    );
    expect(verdict.because.join(" ")).toMatch(/By feed: slot12 50.* mA .*, aux 0/);
    expect(verdict.candidates.find((each) => each.class === "open-input")?.probability).toBeGreaterThan(0.3);
    expect(verdict.feeds).toMatchObject([
      { feed: "slot12", open: "no" },
      { feed: "aux", open: "likely" },
    ]);
  });
  it("leaves no draw normal", () => {
    expect(both(1.1, 0).class).toBe("cannot-tell");
    expect(both(0.6, 0.5).class).toBe("normal");
  });
  it("has a peak that is never under the plateau, both of the sum", () => {
    const { features } = both(0.6, 0.5);
    expect(features.peakAmps ?? 0).toBeGreaterThanOrEqual(features.plateauAmps ?? Number.POSITIVE_INFINITY);
  });
});
