import { describe, expect, it } from "vitest";
import { predictionFactor } from "../../src/analysis/prediction-factor.ts";
import { type BoardsElsewhere, priorBandOf, weighed } from "../../src/analysis/prior-band.ts";
import { univariateOf } from "../../src/analysis/univariate.ts";

const elsewhereOf = (amps: readonly number[], standardU = 0): BoardsElsewhere => {
  const { mean, stdDev } = univariateOf(amps);
  return { boards: amps.length, meanAmps: mean, betweenAmps: amps.length < 2 ? null : stdDev, standardU };
};

/**
 * P(next in [low, high]) by adding up over a grid of means and spreads: likelihood of one's own, that of the others to the power `share`,
 * flat in the mean and in the logarithm of the spread. Nothing of the formula under test is in it.
 */
function shareIn(
  band: { low: number; high: number },
  own: readonly number[],
  elsewhere: readonly BoardsElsewhere[],
  share: number,
): number {
  const middle = (band.low + band.high) / 2;
  const reach = band.high - band.low;
  let inside = 0;
  let all = 0;
  const logs: { log: number; within: number }[] = [];
  for (let i = 0; i < 400; i++) {
    const sigma = reach * Math.exp(-5 + (8 * i) / 400);
    for (let j = -300; j <= 300; j++) {
      const mu = middle + (reach * 4 * j) / 300;
      let log = 0;
      for (const x of own) log -= Math.log(sigma) + (x - mu) ** 2 / (2 * sigma ** 2);
      for (const { boards, meanAmps, betweenAmps } of elsewhere)
        log -=
          share *
          (boards * Math.log(sigma) +
            ((boards - 1) * (betweenAmps ?? 0) ** 2 + boards * (meanAmps - mu) ** 2) / (2 * sigma ** 2));
      logs.push({ log, within: normalShare((band.high - mu) / sigma) - normalShare((band.low - mu) / sigma) });
    }
  }
  const most = logs.reduce((top, { log }) => Math.max(top, log), Number.NEGATIVE_INFINITY);
  for (const { log, within } of logs) {
    const weight = Math.exp(log - most);
    all += weight;
    inside += weight * within;
  }
  return inside / all;
}

/** The normal distribution, by Abramowitz and Stegun 26.2.17 (error under 7.5e-8). */
function normalShare(z: number): number {
  const t = 1 / (1 + 0.2316419 * Math.abs(z));
  const tail =
    (Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI)) *
    t *
    (0.31938153 + t * (-0.356563782 + t * (1.781477937 + t * (-1.821255978 + t * 1.330274429))));
  return z >= 0 ? 1 - tail : tail;
}

const OWN = [2.31, 2.42, 2.38, 2.35, 2.44];
const OTHERS = [2.28, 2.33, 2.4, 2.47, 2.36, 2.39, 2.3, 2.41, 2.35, 2.43, 2.37, 2.34];

describe("the band with what other shops read", () => {
  it("is the prediction interval of all boards together where others count in full", () => {
    const together = [...OWN, ...OTHERS];
    const { mean, stdDev } = univariateOf(together);
    const half = predictionFactor(together.length) * stdDev;
    const band = weighed(OWN, [elsewhereOf(OTHERS)], 1);
    expect(band?.low).toBeCloseTo(mean - half, 10);
    expect(band?.high).toBeCloseTo(mean + half, 10);
  });

  it.each([
    ["own and one shop", OWN, [elsewhereOf(OTHERS)]],
    ["own and two shops that disagree", OWN, [elsewhereOf(OTHERS), elsewhereOf(OTHERS.map((amps) => amps + 0.4))]],
    ["no boards of one's own", [], [elsewhereOf([...OTHERS, ...OTHERS])]],
  ])("holds the next board with 95 %% of the weighed likelihood: %s", (_, own, elsewhere) => {
    const others = elsewhere.reduce((sum, { boards }) => sum + boards, 0);
    const share = Math.min(0.25, 10 / others);
    const band = priorBandOf(own, elsewhere);
    if (band === null) throw new Error("no band");
    const found = shareIn(band, own, elsewhere, share);
    // The degrees of freedom are rounded down, so it holds a little more.
    expect(found).toBeGreaterThan(0.949);
    expect(found).toBeLessThan(0.975);
  });

  it("comes to one's own interval as one's own boards grow in number, whatever others read", () => {
    const many = Array.from({ length: 400 }, (_, i) => 2.4 + 0.05 * Math.sin(i * 2.4));
    const { mean, stdDev } = univariateOf(many);
    const half = predictionFactor(many.length) * stdDev;
    const band = priorBandOf(many, [elsewhereOf(OTHERS)]);
    expect((band?.low ?? 0) / (mean - half)).toBeCloseTo(1, 2);
    expect((band?.high ?? 0) / (mean + half)).toBeCloseTo(1, 2);
  });

  it("is wider where shops disagree or their instruments are less sure, and none where boards are too few", () => {
    const width = (elsewhere: BoardsElsewhere[]) => {
      const band = priorBandOf(OWN, elsewhere);
      return band === null ? Number.NaN : band.high - band.low;
    };
    expect(width([elsewhereOf(OTHERS.map((amps) => amps + 1))])).toBeGreaterThan(3 * width([elsewhereOf(OTHERS)]));
    expect(width([elsewhereOf(OTHERS, 0.2)])).toBeGreaterThan(1.5 * width([elsewhereOf(OTHERS)]));
    expect(priorBandOf([], [elsewhereOf(OTHERS.slice(0, 11))])).toBeNull();
    expect(priorBandOf([2.4], [elsewhereOf([2.3])])).toBeNull();
    // A thousand boards elsewhere weigh ten.
    expect(priorBandOf([2.4], [{ boards: 1000, meanAmps: 2.4, betweenAmps: 0.1, standardU: 0 }])?.weight).toBeCloseTo(
      11,
      9,
    );
  });
});
