import { describe, expect, test } from "vitest";
import { type Random, seededRandom } from "../../src/simulator/random.ts";
import { beginSweep } from "../../src/sweep/begin-sweep.ts";
import { railVerdict } from "../../src/verdict/rail-verdict.ts";
import { HandModel, type MeterKind, type PlacementRecord } from "./hand-model.ts";
import { kestrel, kestrelSweep } from "./kestrel-sweep.ts";

const { limitsOf } = kestrelSweep;
const rails = Object.keys(kestrel.rails);
const SWEEPS = 144;

/** A meter between 8 and 30 readings a second, from four and a half digits to one that shows millivolts. */
function someMeter(random: Random): MeterKind {
  const offset = 0.0002 + 0.003 * random.next() ** 2;
  return {
    readMs: 1000 / (8 + 22 * random.next()),
    jitter: 0.2,
    sigma: 5e-5 * 40 ** random.next(),
    step: [0.0001, 0.0002, 0.001][Math.floor(random.next() * 3)] ?? 0.001,
    settleMs: 4 * 15 ** random.next(),
    halfWidth: (volts) => 0.0008 * Math.abs(volts) + offset,
  };
}

/** One rail in seven is not what it should be: dead, low, high. The others lie anywhere within their tolerance. */
function someVolts(random: Random, halfWidth: (volts: number) => number): Map<string, number> {
  const volts = new Map<string, number>();
  for (const rail of rails) {
    const { low, high } = limitsOf(rail, "volts");
    const [least, most] = [low ?? 0, high ?? 0];
    const room = 3 * halfWidth(most);
    const draw = random.next();
    if (draw < 0.05) volts.set(rail, 0.002 * random.next());
    else if (draw < 0.1) volts.set(rail, (0.15 + 0.75 * random.next()) * (least - room));
    else if (draw < 0.14) volts.set(rail, most + room + 0.2 * random.next() * most);
    else volts.set(rail, least + room + (most - least - 2 * room) * random.next());
  }
  return volts;
}

function verdictRight(record: PlacementRecord, truth: number): boolean {
  const { low, high } = limitsOf(record.rail, "volts");
  const { verdict } = railVerdict({
    volts: record.capture.value,
    lowVolts: low ?? 0,
    highVolts: high ?? 0,
    halfWidthVolts: record.capture.halfWidth ?? 0,
  });
  const isGood = truth >= (low ?? 0) && truth <= (high ?? 0);
  return isGood ? verdict === "pass" : verdict === "fail";
}

describe("a scripted hand over two thousand placements", () => {
  const records: { record: PlacementRecord; truth: number }[] = [];
  let questions = 0;
  for (let seed = 1; seed <= SWEEPS; seed++) {
    const random = seededRandom(seed);
    const meter = someMeter(random);
    const volts = someVolts(random, meter.halfWidth);
    const sweep = beginSweep(kestrelSweep);
    const hand = new HandModel({ sweep, volts, meter, random });
    hand.run();
    questions += hand.questions.length;
    records.push(...hand.records.map((record) => ({ record, truth: volts.get(record.rail) ?? 0 })));
  }
  const took = records.map(({ record }) => record.tookMs).sort((a, b) => a - b);
  const median = took[took.length >> 1] ?? Number.NaN;
  const worst = took[Math.floor(took.length * 0.99)] ?? Number.NaN;
  const falseOnes = records.filter(({ record }) => record.isFalse);
  const wrong = records.filter(({ record, truth }) => !verdictRight(record, truth));
  process.stdout.write(
    `${records.length} placements: ${falseOnes.length} false captures, ${wrong.length} wrong verdicts, ${questions} questions; from contact to value median ${Math.round(median)} ms, 99 % within ${Math.round(worst)} ms\n`,
  );

  test("every rail and signal of every sweep has its value, more than two thousand in all", () => {
    expect(records.length).toBe(SWEEPS * rails.length);
    expect(records.length).toBeGreaterThan(2000);
  });

  test("no value was taken while the probe was elsewhere", () => {
    expect(falseOnes).toEqual([]);
  });

  test("each verdict is that of the true volts", () => {
    expect(wrong).toEqual([]);
  });

  test("a probe on a wrong rail was always asked about, and each kind of hand was there", () => {
    const onWrong = records.filter(({ record }) => record.what === "wrong rail");
    expect(onWrong.length).toBeGreaterThan(50);
    expect(onWrong.every(({ record }) => record.capture.questioned !== null)).toBe(true);
    expect(new Set(records.map(({ record }) => record.what)).size).toBe(5);
  });

  test("the median from contact to value is under two seconds", () => {
    expect(median).toBeLessThan(2000);
  });
});
