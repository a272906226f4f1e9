import { expect, test } from "vitest";
import type { FromBench } from "../../shared/ipc.ts";
import type { MeterReading, MeterReadSetting } from "../../shared/meter-reading.ts";
import { SimulatedBench, type SimulatedBenchOptions } from "./simulated-bench.ts";

const VOLTS: MeterReadSetting = {
  function: "volts",
  rangeUpTo: null,
  powerLineCycles: null,
  channel: null,
  leadNullOhms: null,
};
const OHMS: MeterReadSetting = { ...VOLTS, function: "ohms" };

/** A connected bench, and a hand on its meter. */
async function meterBench(options: Partial<SimulatedBenchOptions> = {}) {
  const bench = await SimulatedBench.start({ scenario: "normal", ...options });
  await bench.prepare();
  let id = 1000;
  const ask = (body: { type: "meter-read"; setting: MeterReadSetting } | { type: "meter-rest" }) => {
    id += 1;
    bench.bench.receive({ ...body, id, lease: 1, deadlineMs: bench.clock.nowMs() + 60_000 });
    return id;
  };
  const answerTo = (wanted: number): Promise<FromBench> =>
    bench.until(
      new Promise((resolve) => {
        const look = (): void => {
          const found = bench.sent.find((each) => "id" in each && each.id === wanted);
          if (found !== undefined) resolve(found);
          else bench.clock.after(5, look);
        };
        look();
      }),
    );
  const readings = (): MeterReading[] =>
    bench.sent.flatMap((each) => (each.type === "meter-readings" ? each.readings : []));
  return {
    bench,
    read: (setting: MeterReadSetting) => answerTo(ask({ type: "meter-read", setting })),
    start: (setting: MeterReadSetting) => void ask({ type: "meter-read", setting }),
    rest: () => answerTo(ask({ type: "meter-rest" })),
    readings,
    /** What was read while this much time passed. */
    during: async (ms: number): Promise<MeterReading[]> => {
      const before = readings().length;
      await bench.pass(ms);
      return readings().slice(before);
    },
    problems: () => bench.sent.flatMap((each) => (each.type === "problem" ? [each.problem] : [])),
    close: async () => {
      await bench.close();
    },
  };
}

test("the meter is read again and again until it rests, in batches of at most 50 ms", async () => {
  const meter = await meterBench();
  try {
    expect(await meter.read(VOLTS)).toMatchObject({ type: "done" });
    const readings = await meter.during(1000);
    // The simulated meter answers every 20 ms.
    expect(readings.length).toBeGreaterThan(40);
    expect(readings.every((each) => each.kind === "value" && Math.abs(each.value ?? 1) < 0.005)).toBe(true);
    for (const each of readings) expect(each.atMs).toBeGreaterThan(each.queriedAtMs);
    const batches = meter.bench.sent.flatMap((each) => (each.type === "meter-readings" ? [each.readings] : []));
    for (const batch of batches) expect((batch.at(-1)?.atMs ?? 0) - (batch[0]?.atMs ?? 0)).toBeLessThanOrEqual(50);
    await meter.rest();
    expect((await meter.during(500)).length).toBe(0);
  } finally {
    await meter.close();
  }
});

test("ohms of a point are read after its volts, and the lead null is taken off", async () => {
  const meter = await meterBench();
  try {
    expect(await meter.read({ ...OHMS, leadNullOhms: 0.1 })).toMatchObject({ type: "done" });
    expect((await meter.during(300)).every((each) => each.kind === "overload")).toBe(true);
    meter.bench.simulation.probe("core");
    const readings = (await meter.during(2000)).filter((each) => each.kind === "value");
    // The simulated core is 0.41 Ω behind leads of 0.1 Ω.
    expect(readings.at(-1)?.value).toBeCloseTo(0.41, 2);
    expect(readings.every((each) => each.leadNullOhms === 0.1 && Math.abs(each.nodeVolts ?? 1) < 0.005)).toBe(true);
    const asked = meter.bench.simulation
      .history()
      .filter((each) => each.instrument === "dmm" && each.kind === "command" && each.text.startsWith("CONF:"))
      .map((each) => each.text);
    expect(asked.slice(0, 2)).toEqual(["CONF:VOLT:DC", "CONF:RES"]);
  } finally {
    await meter.close();
  }
});

test("a point that is charged is told as such, never as open, and read once it is discharged", async () => {
  const meter = await meterBench();
  const { simulation } = meter.bench;
  try {
    await meter.read(OHMS);
    simulation.misbehave.frontPanel("aux", { volts: 3, limitAmps: 0.5, output: "on" });
    await meter.bench.pass(100);
    simulation.probe("aux");
    const charged = (await meter.during(1000)).slice(-3);
    expect(charged.map((each) => each.kind)).toEqual(["charged", "charged", "charged"]);
    expect(charged[0]?.nodeVolts).toBeCloseTo(3, 1);
    expect(charged[0]?.value).toBeNull();
    simulation.misbehave.frontPanel("aux", { output: "off" });
    const after = await meter.during(60_000);
    expect(after.at(-1)).toMatchObject({ kind: "value" });
  } finally {
    await meter.close();
  }
});

test("ohms are refused while an output is on, and while a run is on; volts are not", async () => {
  const meter = await meterBench();
  const { simulation } = meter.bench;
  try {
    simulation.misbehave.frontPanel("aux", { volts: 1, limitAmps: 0.5, output: "on" });
    await meter.bench.pass(50);
    expect(await meter.read(OHMS)).toMatchObject({ type: "problem", problem: { code: "output-unknown" } });
    expect(await meter.read(VOLTS)).toMatchObject({ type: "done" });
    expect(meter.bench.simulation.history().some((each) => /^CONF:(RES|DIOD)/.test(each.text))).toBe(false);
  } finally {
    await meter.close();
  }
});
