import { describe, expect, test } from "vitest";
import { chargingEnd } from "../../src/analysis/charging-end.ts";
import { gaussian, seeded } from "./series.ts";

/** Readings of R across C at a constant current, v = R·(1 − e^(−t/RC)) (arithmetic), with noise, every `everyMs`. */
function climb(of: {
  ohms: number;
  farads: number;
  fromMs: number;
  toMs: number;
  noise: number;
  everyMs?: number;
  seed?: number;
}) {
  const draw = gaussian(seeded(of.seed ?? 1));
  const samples: { atMs: number; value: number }[] = [];
  for (let atMs = of.fromMs; atMs <= of.toMs; atMs += of.everyMs ?? 50)
    samples.push({
      atMs,
      value: of.ohms * (1 - Math.exp(-atMs / (1000 * of.ohms * of.farads))) + of.noise * draw(),
    });
  return samples;
}

describe("chargingEnd()", () => {
  test.each([
    [2400, 0.002, 3000],
    [12_400, 0.002, 6000],
    [3100, 0.004, 4000],
    [100_000, 0.0001, 5000],
  ])("finds %d Ω across %d F after %d ms within its uncertainty", (ohms, farads, toMs) => {
    let inside = 0;
    for (let seed = 1; seed <= 40; seed++) {
      const end = chargingEnd(climb({ ohms, farads, fromMs: 100, toMs, noise: 0.0005 * ohms * (toMs / 10_000), seed }));
      expect(end).not.toBeNull();
      if (end !== null && Math.abs(end.ohms - ohms) <= end.expandedOhms) inside++;
    }
    // k = 2 covers about 95 % (JCGM 100:2008, G.3.3); 40 draws, three of them may lie outside and more rarely.
    expect(inside).toBeGreaterThanOrEqual(36);
  });

  test("sees no end in a straight climb, a fall, or too few readings", () => {
    const straight = Array.from({ length: 60 }, (_, i) => ({ atMs: 50 * i, value: 25 * i + (i % 3) * 0.01 }));
    expect(chargingEnd(straight)).toBeNull();
    expect(chargingEnd(straight.map(({ atMs, value }) => ({ atMs, value: 5000 - value })))).toBeNull();
    expect(chargingEnd(climb({ ohms: 2400, farads: 0.002, fromMs: 100, toMs: 500, noise: 0 }))).toBeNull();
  });
});
