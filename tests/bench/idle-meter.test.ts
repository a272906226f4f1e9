import { afterEach, expect, test } from "vitest";
import { MeterBench } from "./meter-bench.ts";

let meter: MeterBench;
afterEach(() => meter.bench.close());

const answered = (): string[] =>
  meter.bench.sent.flatMap((each) => (each.type === "answered" ? [each.instrument] : []));

test("a meter at rest is heard every two seconds, and one that hangs is told of by its name, once", async () => {
  meter = await MeterBench.start();
  await meter.bench.pass(7_000);
  expect(answered()).toEqual(["dmm", "dmm", "dmm"]);
  expect(meter.problems).toEqual([]);

  meter.simulation.misbehave.stall("dmm", true);
  await meter.bench.pass(15_000);
  const told = meter.bench.sent.flatMap((each) => (each.type === "problem" ? [each.problem.instrument] : []));
  expect(told).toEqual(["dmm"]);

  meter.simulation.misbehave.stall("dmm", false);
  const before = answered().length;
  await meter.bench.pass(15_000);
  expect(answered().length).toBeGreaterThan(before);
});
