import { describe, expect, it } from "vitest";
import { DrawVerdict } from "../../shared/draw-verdict.ts";
import { verdictText } from "../../src/command/text/verdict-text.ts";
import { verdictOnDraw } from "../../src/verdict/draw-verdict.ts";
import { figuresInWords } from "../../src/verdict/figures-in-words.ts";
import { CLEAN_TOUCH, inputOf, OFF, type Part, traceOf, watched } from "./synthetic.ts";

describe("the uncertainty beside each figure, expanded with k = 2", () => {
  it("of a quiet plateau is the instrument's accuracy and step", () => {
    const trace = traceOf([OFF, CLEAN_TOUCH, OFF, ...watched(15_000, 0.85)], { noiseAmps: 0 });
    const accurate = { ...trace, accuracy: { ampsShare: 0.001, ampsOffset: 0.003 } };
    const { uncertainty } = verdictOnDraw(inputOf([accurate]));
    // Half-widths 0.85 mA + 3 mA and half a step of 1 mA, over √3; the mean of steps adds 1 mA/√12 over √n, n ≈ 750: 2·√(2.2414² + 0.0105²) = 4.48 mA, by hand.
    expect(uncertainty?.plateauAmps).toBeCloseTo(0.00448, 4);
    // One reading of 0.85 A the same.
    expect(uncertainty?.peakAmps).toBeCloseTo(0.00448, 4);
  });
  it("is null where the figure is null, and given where it is not", () => {
    for (const intervalMs of [0.5, 50]) {
      const rise: Part = {
        stage: "rise",
        ms: 100,
        set: 12,
        limit: 1,
        volts: (t) => Math.min(12, t / 2),
        amps: (t) => (t < 24 ? 1 : 0.85),
      };
      const trace = traceOf([OFF, CLEAN_TOUCH, OFF, rise, ...watched(4000, 0.85, 1).slice(1)], {
        intervalMs,
        jitter: 0,
      });
      const verdict = verdictOnDraw(inputOf([trace]));
      const figures = { ...verdict.features, energyJoules: verdict.energyJoules };
      for (const [name, expanded] of Object.entries(verdict.uncertainty ?? {})) {
        const figure = figures[name as keyof typeof figures];
        expect(expanded === null, `${name}: ${figure} ± ${expanded}`).toBe(figure === null);
      }
      expect(DrawVerdict.parse(verdict)).toEqual(verdict);
    }
  });
  it("holds charge and capacitance of rises whose truth is known", () => {
    let [held, tries] = [0, 0];
    for (let seed = 1; seed <= 20; seed++) {
      const farads = 0.001 + 0.00007 * seed;
      const fullMs = 12_000 * farads;
      const rise: Part = {
        stage: "rise",
        ms: 200,
        set: 12,
        limit: 1,
        volts: (t) => Math.min(12, (12 * t) / fullMs),
        amps: (t) => (t < fullMs ? 1 : 0.1),
      };
      const trace = traceOf([OFF, CLEAN_TOUCH, OFF, rise, ...watched(4000, 0.1, 1).slice(1)], {
        intervalMs: 1.5,
        jitter: 0.4,
        leadOhms: 0,
        seed,
      });
      const { features, uncertainty } = verdictOnDraw(inputOf([trace]));
      const within = (figure: number | null, truth: number, expanded: number | null | undefined) => {
        tries++;
        if (Math.abs((figure ?? 0) - truth) <= (expanded ?? 0)) held++;
      };
      within(features.chargeCoulombs, 0.98 * 12 * farads, uncertainty?.chargeCoulombs);
      within(features.inputFarads, farads, uncertainty?.inputFarads);
      expect((uncertainty?.inputFarads ?? 1) / farads).toBeLessThan(0.15);
    }
    expect(held / tries).toBeGreaterThanOrEqual(0.95);
  });
  it("of a short comes from volts, amps and leads nobody measured", () => {
    const touch: Part = { stage: "touch", ms: 400, set: 0.9, limit: 0.3, volts: 0.6, amps: 0.3, mode: "cc" };
    const u = (leadOhms: number | null) =>
      verdictOnDraw(inputOf([traceOf([OFF, touch, OFF], { leadOhms, noiseAmps: 0 })])).uncertainty?.shortOhms ?? 0;
    // 2 Ω · √((4.619 mV/0.6 V)² + (1.4719 mA/0.3 A)²) = 18.25 mΩ, twice that; half-widths 0.5 % and 5 mV, 0.5 % and 1 mA, steps of 1: by hand.
    // Clips that repeat within ±10 mΩ add 10/√3 = 5.77 mΩ: 2·√(18.25² + 5.77²) = 38.3 mΩ.
    expect(u(0.05)).toBeCloseTo(0.0383, 3);
    // Leads anywhere up to 150 mΩ add 150/√12 = 43.3 mΩ: 2·√(18.25² + 43.3²) = 93.98 mΩ.
    expect(u(null)).toBeCloseTo(0.094, 3);
  });
});

describe("what people read", () => {
  const trace = traceOf([OFF, CLEAN_TOUCH, OFF, ...watched(15_000, 0.85)], { noiseAmps: 0 });
  const verdict = verdictOnDraw(inputOf([{ ...trace, accuracy: { ampsShare: 0.001, ampsOffset: 0.003 } }]));
  it("has two figures of the uncertainty and the value to the same place (JCGM 100:2008, 7.2.6)", () => {
    expect(figuresInWords(verdict)).toContain("plateau 850.0 mA ± 4.5 mA");
    expect(verdictText("trace", verdict)).toContain(
      "Figures (± expanded uncertainty, k = 2): plateau 850.0 mA ± 4.5 mA",
    );
  });
  it("has the value alone in a record from before uncertainties were filed", () => {
    const { uncertainty: _, ...old } = verdict;
    expect(DrawVerdict.parse(old)).toEqual(old);
    expect(figuresInWords(old)[0]).toBe("plateau 850 mA");
  });
});
