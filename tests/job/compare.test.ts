import { expect, test } from "vitest";
import { comparisonText } from "../../src/command/text/comparison-text.ts";
import { compareInRecord } from "../../src/job/known/compare-in-record.ts";
import { compareRuns } from "../../src/job/known/compare-runs.ts";
import { standardUncertainty } from "../../src/verdict/amps-uncertainty.ts";
import { fileRun, sampleEnd, sampleHeader, sampleVerdict, withStore } from "./sample-job.ts";

const judged = (plateauAmps: number | null, header = sampleHeader()) => {
  const verdict = sampleVerdict({ plateauAmps });
  return { header, end: { ...sampleEnd(header, verdict), verdict } };
};

test("5 on a range of 10 at ±(0.0020 % + 0.0005 % of range) has u = 86.6025e-6 (a meter's manual; JCGM 100:2008, 4.3.7)", () => {
  expect(standardUncertainty(5, { share: 2e-5, offset: 5e-5, step: 0 })).toBeCloseTo(86.6025e-6, 10);
});

test("a read-back in steps alone has u = step/√12 (JCGM 100:2008, F.2.2.1: 0.29 of the step)", () => {
  expect(standardUncertainty(1, { share: 0, offset: 0, step: 0.001 })).toBeCloseTo(0.29e-3, 5);
});

test("a difference counts as beyond the meters' error only above twice the combined uncertainty", () => {
  // u(0.8 A) = √(((0.0008 + 0.003)/√3)² + (0.001/√12)²) = 2.2128 mA, so U = 2·√2·u = 6.26 mA by hand.
  const beyond = (b: number) => compareRuns(judged(0.8), judged(b)).figures[0];
  expect(beyond(0.806)).toMatchObject({ beyondMeterError: "no" });
  expect(beyond(0.807)).toMatchObject({ beyondMeterError: "yes" });
  expect(beyond(0.793)).toMatchObject({ beyondMeterError: "yes" });
  expect(beyond(0.8)?.expanded).toBeCloseTo(0.00626, 5);
});

test("with an accuracy nobody stated, or a figure that cannot be known, the answer is unknown", () => {
  const blind = sampleHeader();
  blind.instruments.forEach((each) => {
    each.accuracy = null;
  });
  expect(compareRuns(judged(0.1), judged(5, blind)).figures[0]).toMatchObject({
    difference: 4.9,
    expanded: null,
    beyondMeterError: "unknown",
  });
  expect(compareRuns(judged(0.1), judged(null)).figures[0]).toMatchObject({
    difference: null,
    beyondMeterError: "unknown",
  });
});

test("what was not alike in two runs is said: fans, limits, leads, the supply", () => {
  const other = sampleHeader();
  other.conditions.fans = "on";
  other.conditions.host = "unknown";
  other.instruments.forEach((each) => {
    each.identity = "TERN STREET,OTHER SUPPLY,7,1.0";
  });
  other.plan.feeds = other.plan.feeds.map((feed) => ({
    ...feed,
    leadOhms: null,
    nominal: { ...feed.nominal, limitAmps: 5 },
  }));
  expect(compareRuns(judged(0.8), judged(0.8, other)).notAlike).toEqual([
    "host: none before, unknown after",
    "fans: off before, on after",
    "current limit of aux: 3 A before, 5 A after",
    "leads of aux: 0.04 Ω before, unknown after",
    "supply: TERN STREET,BENCH SUPPLY,1001,1.0 before, TERN STREET,OTHER SUPPLY,7,1.0 after",
  ]);
  expect(compareRuns(judged(0.8), judged(0.8)).notAlike).toEqual([]);
});

test("two jobs stand for their last runs, a job twice for its first and last, captures for themselves", () =>
  withStore(async (store) => {
    const [job, other, empty] = [await store.newJob(), await store.newJob(), await store.newJob()];
    const first = await fileRun(store, job, { verdict: sampleVerdict({ class: "partly-up", plateauAmps: 0.3 }) });
    const last = await fileRun(store, job);
    const others = await fileRun(store, other, { verdict: sampleVerdict({ plateauAmps: 0.9 }) });
    const runs = async (a: string, b: string) => {
      const compared = await compareInRecord(store, a, b);
      return [compared.a.run, compared.b.run];
    };
    expect(await runs(job, other)).toEqual([last.run, others.run]);
    expect(await runs(job, job)).toEqual([first.run, last.run]);
    expect(await runs(first.capture, other)).toEqual([first.run, others.run]);
    const compared = await compareInRecord(store, first.capture, last.capture);
    expect(compared.classes).toEqual({ a: "partly-up", b: "core-alive", same: false });
    expect(comparisonText(compared)).toMatch(
      /class: Partly up, then Core up, not running\nsteady current: 300 mA, then 820 mA: 520\.0 mA ± .* more than/,
    );
    await expect(compareInRecord(store, other, other)).rejects.toThrow(/same run/);
    await expect(compareInRecord(store, job, empty)).rejects.toThrow(/no run with a verdict/);
    await expect(compareInRecord(store, job, "ffffffff")).rejects.toThrow(/neither a job nor a capture/);
  }));
