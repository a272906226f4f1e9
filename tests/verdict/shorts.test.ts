import { describe, expect, it } from "vitest";
import { verdictOnDraw } from "../../src/verdict/draw-verdict.ts";
import { CLEAN_TOUCH, inputOf, OFF, type Part, traceOf, watched } from "./synthetic.ts";

/** A touch of `ohms` behind 0.05 Ω of leads, at this limit. */
const touch = (ohms: number, limit: number, ms = 300): Part => {
  const amps = Math.min(limit, 0.9 / (ohms + 0.05));
  return { stage: "touch", ms, set: 0.9, limit, volts: amps * (ohms + 0.05), amps, mode: amps < limit ? "cv" : "cc" };
};

describe("a look at 0.9 V (limits of trade practice, no source)", () => {
  it("calls 0.05 Ω behind the leads a dead short and takes the leads off", () => {
    const verdict = verdictOnDraw(inputOf([traceOf([OFF, touch(0.05, 0.3), OFF])]));
    expect(verdict.class).toBe("dead-short");
    expect(verdict.features.shortOhms).toBeGreaterThan(0.03);
    expect(verdict.features.shortOhms).toBeLessThan(0.07);
    expect(verdict.features.collapseRatio).toBeCloseTo(0.0333, 2);
  });
  it("calls 4.7 Ω a partial short, and ohmic", () => {
    const verdict = verdictOnDraw(inputOf([traceOf([OFF, touch(4.7, 0.3), OFF])]));
    expect(verdict).toMatchObject({ class: "overload", sub: "ohmic" });
    expect(verdict.features.shortOhms).toBeCloseTo(4.7, 1);
  });
  it("cannot tell within the uncertainty of 0.5 Ω, and says between what", () => {
    const verdict = verdictOnDraw(inputOf([traceOf([OFF, touch(0.502, 0.3), OFF])]));
    expect(verdict.class).toBe("cannot-tell");
    expect(verdict.candidates.map((each) => each.class).sort()).toEqual(["dead-short", "overload"]);
    expect(verdict.features.shortOhms).not.toBeNull();
  });
  it("does not decide across 0.5 Ω when the leads are not known", () => {
    const verdict = verdictOnDraw(inputOf([traceOf([OFF, touch(0.54, 0.3), OFF], { leadOhms: null })]));
    expect(verdict.class).toBe("cannot-tell");
    expect(verdict.because.join(" ")).toContain("the leads, whose resistance is not known");
  });
  it("tells a junction from a resistor by a second limit: volts that hardly move against volts that follow", () => {
    const diode = (limit: number): Part => ({
      stage: "touch",
      ms: 300,
      set: 0.9,
      limit,
      volts: 0.6 + 0.05 * limit,
      amps: limit,
      mode: "cc",
    });
    const junction = verdictOnDraw(inputOf([traceOf([OFF, diode(0.2), diode(0.4), OFF])]));
    expect(junction).toMatchObject({ class: "overload", sub: "junction" });
    expect(junction.because.join(" ")).toContain("polarity");
    const resistor = verdictOnDraw(inputOf([traceOf([OFF, touch(2, 0.2), touch(2, 0.4), OFF])]));
    expect(resistor).toMatchObject({ class: "overload", sub: "ohmic" });
  });
  it("leaves the kind open after one look in a junction's volts, and asks for the polarity", () => {
    const verdict = verdictOnDraw(
      inputOf([
        traceOf([OFF, { stage: "touch", ms: 300, set: 0.9, limit: 0.2, volts: 0.62, amps: 0.2, mode: "cc" }, OFF]),
      ]),
    );
    expect(verdict).toMatchObject({ class: "overload", sub: "unknown" });
    expect(verdict.because.join(" ")).toContain("polarity");
  });
  it("does not take a capacitor that charges for a short", () => {
    // 5 mF at 0.2 A to 0.9 V takes C·V/I = 22.5 ms.
    const charging: Part = {
      stage: "touch",
      ms: 300,
      set: 0.9,
      limit: 0.2,
      volts: (t) => Math.min(0.9, (0.9 * t) / 22.5),
      amps: (t) => (t < 22.5 ? 0.2 : 0),
      mode: "cv",
    };
    const verdict = verdictOnDraw(inputOf([traceOf([OFF, charging, ...watched(6000, 0.85)], { intervalMs: 10 })]));
    expect(verdict.class).toBe("normal");
  });
  it("is seen on whichever feed it is", () => {
    const clean = traceOf([OFF, CLEAN_TOUCH, OFF, ...watched(6000, 0.85)]);
    const short = traceOf([OFF, touch(0.1, 0.1), OFF], { feed: "slot3v3" });
    const verdict = verdictOnDraw(inputOf([clean, short]));
    expect(verdict.class).toBe("dead-short");
    expect(verdict.because[0]).toContain("slot3v3");
  });
  it("says only that no short was seen when nothing else was tried", () => {
    const verdict = verdictOnDraw(inputOf([traceOf([OFF, CLEAN_TOUCH, OFF])]));
    expect(verdict.class).toBe("cannot-tell");
    expect(verdict.because.join(" ")).toContain("No short was seen");
  });
  it("finds a path that opens between 1 V and 3 V", () => {
    const hold: Part = { stage: "hold-low", ms: 400, set: 3, limit: 0.3, volts: 1.8, amps: 0.3, mode: "cc" };
    expect(verdictOnDraw(inputOf([traceOf([OFF, CLEAN_TOUCH, OFF, hold, OFF])])).class).toBe("overload");
  });
});

describe("a feed that stays in the limit at nominal", () => {
  const limited = (volts: Part["volts"], ms = 1200): Part => ({
    stage: "rise",
    ms,
    set: 12,
    limit: 2,
    volts,
    amps: 2,
    mode: "cc",
  });
  it("is a dead short by its resistance, whatever was set", () => {
    expect(verdictOnDraw(inputOf([traceOf([OFF, limited(0.3), OFF])])).class).toBe("dead-short");
  });
  it("is cannot-tell between an overload and a limit too low after a clean touch", () => {
    const verdict = verdictOnDraw(inputOf([traceOf([OFF, CLEAN_TOUCH, OFF, limited(5), OFF])], { board: null }));
    expect(verdict.class).toBe("cannot-tell");
    expect(verdict.candidates[0]?.class).toBe("overload");
    expect(verdict.candidates.map((each) => each.class)).not.toContain("retrying");
  });
  it("is an overload where the limit was well above what the board needs to start", () => {
    // Top of normal 1.1 A at 12 V over 7 V of lock-out is 1.89 A; one and a third times that is 2.45 A.
    const high: Part = { stage: "rise", ms: 1200, set: 12, limit: 3, volts: 8, amps: 3, mode: "cc" };
    expect(verdictOnDraw(inputOf([traceOf([OFF, CLEAN_TOUCH, OFF, high, OFF])]))).toMatchObject({
      class: "overload",
      sub: "over-demand",
    });
  });
  it("is a start loop when it rises and falls, never retrying", () => {
    const saw = (t: number) => (t % 200 < 120 ? 7 + (5 * (t % 200)) / 120 : 12 - (5 * ((t % 200) - 120)) / 80);
    for (const says of [true, false]) {
      const loop: Part = {
        stage: "rise",
        ms: 1400,
        set: 12,
        limit: 1,
        volts: saw,
        amps: (t) => (t % 200 < 120 ? 1 : 0.05),
        ...(says ? { mode: "unknown" as const } : {}),
      };
      const verdict = verdictOnDraw(inputOf([traceOf([OFF, CLEAN_TOUCH, OFF, loop, OFF], { intervalMs: 12 })]));
      expect(verdict).toMatchObject({ class: "cannot-tell", sub: "start-loop" });
      expect(verdict.candidates.map((each) => each.class)).toContain("overload");
      expect(verdict.candidates.map((each) => each.class)).not.toContain("retrying");
      expect(verdict.because.join(" ")).toContain("limit to try");
    }
  });
  it("is cannot-tell with an overload in it where the record ends on its way in and out of the limit, high up", () => {
    // What a cut at 142 ms of summed limiting leaves: three dips, the last readings at 11 V and still in the limit.
    for (const intervalMs of [5, 12, 20, 50]) {
      const cut: Part = {
        stage: "rise",
        ms: 400,
        set: 12,
        limit: 2,
        volts: (t) => (t < 12 ? t : t % 120 < 50 && t > 60 ? 11 : 12),
        amps: (t) => (t < 12 || (t % 120 < 50 && t > 60) ? 2 : 1.2),
      };
      const trace = traceOf([OFF, CLEAN_TOUCH, OFF, cut, OFF], { intervalMs });
      const mode = trace.volts.map((volts) => (volts > 0.95 && volts < 11.5 ? 2 : 1));
      const verdict = verdictOnDraw(inputOf([{ ...trace, mode: Uint8Array.from(mode) }]));
      expect(verdict.class, `${intervalMs}: ${verdict.because.join(" ")}`).toBe("cannot-tell");
      expect(verdict.candidates.map((each) => each.class)).toContain("overload");
      expect(verdict.candidates.map((each) => each.class)).not.toContain("retrying");
    }
  });
  it("is not judged while the capacitors may still be charging", () => {
    const short: Part = { stage: "rise", ms: 60, set: 12, limit: 2, volts: (t) => 0.1 * t, amps: 2, mode: "cc" };
    const verdict = verdictOnDraw(inputOf([traceOf([OFF, CLEAN_TOUCH, OFF, short, OFF], { intervalMs: 5 })]));
    expect(verdict.class).toBe("cannot-tell");
    expect(verdict.because.join(" ")).toContain("before the capacitors can be charged");
  });
});

describe("a feed that is lifted while it is off", () => {
  it("is back-feed", () => {
    const source = traceOf([OFF, CLEAN_TOUCH, { ...CLEAN_TOUCH, stage: "hold-low", set: 3, volts: 3 }, OFF], {
      feed: "in12",
    });
    const lifted = traceOf([OFF, { ...CLEAN_TOUCH, set: 0, limit: 0, volts: 0.7, amps: 0 }, OFF], { feed: "slot3v3" });
    const verdict = verdictOnDraw(inputOf([source, lifted]));
    expect(verdict.class).toBe("cannot-tell");
    expect(verdict.because.join(" ")).toMatch(/slot3v3 was off but showed 700 mV while in12 was on/);
  });
});
