import { mkdtemp, readFile } from "node:fs/promises";
import os from "node:os";
import path from "node:path";
import { expect, test } from "vitest";
import { readLeadNull } from "../../src/daemon/run/lead-null-file.ts";
import { takeLeadNull } from "../../src/daemon/run/take-lead-null.ts";
import { MeterBench, OHMS, VOLTS } from "./meter-bench.ts";

test.each(["tcp", "pty"] as const)(
  "the meter is read again and again until it rests, in batches of at most 50 ms (%s)",
  async (transport) => {
    const meter = await MeterBench.start({ transport });
    try {
      expect(await meter.read(VOLTS)).toMatchObject({ type: "done" });
      const readings = await meter.during(1000);
      // The simulated meter answers every 20 ms.
      expect(readings.length).toBeGreaterThan(40);
      expect(readings.every((each) => each.kind === "value" && Math.abs(each.value ?? 1) < 0.005)).toBe(true);
      for (const each of readings) expect(each.atMs).toBeGreaterThan(each.queriedAtMs);
      const batches = meter.bench.sent.flatMap((each) => (each.type === "meter-readings" ? [each.readings] : []));
      // From the first reading to the message: 50 ms, and a question for the status in between.
      for (const batch of batches) expect((batch.at(-1)?.atMs ?? 0) - (batch[0]?.atMs ?? 0)).toBeLessThanOrEqual(75);
      await meter.rest();
      expect((await meter.during(500)).length).toBe(0);
    } finally {
      await meter.close();
    }
  },
);

test("a meter that answers in no time is read a hundred times a second at most", async () => {
  const meter = await MeterBench.start({ meterTraits: { readMs: 0 } });
  try {
    await meter.read(VOLTS);
    const readings = await meter.during(500);
    expect(readings.length).toBeGreaterThan(20);
    expect(readings.length).toBeLessThanOrEqual(51);
  } finally {
    await meter.close();
  }
});

test("ohms of a point are read after its volts, and the lead null is taken off", async () => {
  const meter = await MeterBench.start();
  try {
    expect(await meter.read({ ...OHMS, leadNullOhms: 0.1 })).toMatchObject({ type: "done" });
    expect((await meter.during(300)).every((each) => each.kind === "overload")).toBe(true);
    meter.simulation.probe("core");
    const readings = (await meter.during(2000)).filter((each) => each.kind === "value");
    // The simulated core is 0.41 Ω behind leads of 0.1 Ω.
    expect(readings.at(-1)?.value).toBeCloseTo(0.41, 2);
    expect(readings.every((each) => each.leadNullOhms === 0.1 && Math.abs(each.nodeVolts ?? 1) < 0.005)).toBe(true);
    const asked = meter.simulation
      .history()
      .filter((each) => each.instrument === "dmm" && each.kind === "command" && each.text.startsWith("CONF:"))
      .map((each) => each.text);
    expect(asked.slice(0, 2)).toEqual(["CONF:VOLT:DC", "CONF:RES"]);
  } finally {
    await meter.close();
  }
});

test("a point that is charged is told as such, never as open, and read once it is discharged", async () => {
  const meter = await MeterBench.start();
  const { simulation } = meter;
  try {
    await meter.read(OHMS);
    simulation.misbehave.frontPanel("aux", { volts: 3, limitAmps: 0.5, output: "on" });
    await meter.bench.pass(100);
    simulation.probe("aux");
    const touchedMs = meter.bench.clock.nowMs();
    const all = await meter.during(1000);
    // Until the next look a charged point may still read open, as a lifted probe does.
    expect(all.filter((each) => each.kind === "overload" && each.atMs > touchedMs + 150)).toEqual([]);
    const charged = all.slice(-3);
    expect(charged.map((each) => each.kind)).toEqual(["charged", "charged", "charged"]);
    expect(charged[0]?.nodeVolts).toBeCloseTo(3, 1);
    expect(charged[0]?.value).toBeNull();
    simulation.misbehave.frontPanel("aux", { output: "off" });
    const after = await meter.during(4000);
    expect(after.at(-1)).toMatchObject({ kind: "value" });
  } finally {
    await meter.close();
  }
});

test("ohms are refused while an output is on, and while a run is on; volts are not", async () => {
  const meter = await MeterBench.start();
  const { simulation } = meter;
  try {
    simulation.misbehave.frontPanel("aux", { volts: 1, limitAmps: 0.5, output: "on" });
    await meter.bench.pass(50);
    expect(await meter.read(OHMS)).toMatchObject({ type: "problem", problem: { code: "output-unknown" } });
    expect(await meter.read(VOLTS)).toMatchObject({ type: "done" });
    expect(meter.simulation.history().some((each) => /^CONF:(RES|DIOD)/.test(each.text))).toBe(false);
  } finally {
    await meter.close();
  }
});

test("a run that begins ends ohms before anything is on, and ohms are refused until it has ended", async () => {
  const meter = await MeterBench.start({ scenario: "single-feed" });
  const { bench, simulation } = meter;
  try {
    await meter.read(OHMS);
    let refused: number | undefined;
    const { outcome } = await meter.run((event) => {
      if (event.atMs > 2000) refused ??= meter.ask({ type: "meter-read", setting: OHMS });
    });
    expect(outcome).toMatchObject({ ended: "as-planned", output: "off" });
    const [feed] = Object.values(simulation.truth().feeds);
    const firstOnMs = feed?.switchings.find((each) => each.output === "on")?.atMs ?? 0;
    const lastOffMs = feed?.switchings.findLast((each) => each.output === "off")?.atMs ?? 0;
    expect(firstOnMs).toBeGreaterThan(0);
    const asked = simulation.history().filter((each) => each.instrument === "dmm" && each.kind === "command");
    expect(asked.filter((each) => each.atMs >= firstOnMs && each.atMs <= lastOffMs)).toEqual([]);
    expect(bench.sent.find((each) => "id" in each && each.id === refused)).toMatchObject({
      type: "problem",
      problem: { code: "bad-input", message: expect.stringContaining("a run is in progress") },
    });
  } finally {
    await meter.close();
  }
});

test("a run whose meter does not answer when it should leave ohms is refused, with nothing switched on", async () => {
  const meter = await MeterBench.start({ scenario: "single-feed" });
  const { simulation } = meter;
  try {
    await meter.read(OHMS);
    simulation.misbehave.stall("dmm", true);
    await expect(meter.run()).rejects.toThrow('meter "dmm" was measuring ohms and did not go back to volts');
    const [feed] = Object.values(simulation.truth().feeds);
    expect(feed?.switchings.filter((each) => each.output === "on")).toEqual([]);
  } finally {
    simulation.misbehave.stall("dmm", false);
    await meter.close();
  }
});

test("volts are read while a run is on, and the supply is polled no slower for it", async () => {
  const intervals = async (withMeter: boolean): Promise<number> => {
    const meter = await MeterBench.start({ scenario: "single-feed", watchSeconds: 5 });
    try {
      if (withMeter) await meter.read(VOLTS);
      const { events, outcome } = await meter.run();
      expect(outcome.ended).toBe("as-planned");
      if (withMeter) expect(meter.readings.length).toBeGreaterThan(100);
      return events.filter((each) => each.event === "reading").length;
    } finally {
      await meter.close();
    }
  };
  const [alone, beside] = [await intervals(false), await intervals(true)];
  expect(Math.abs(beside / alone - 1)).toBeLessThan(0.05);
});

test("a meter that goes silent or loses its link in a run is told of and read again; the run goes on", async () => {
  const meter = await MeterBench.start({ scenario: "single-feed", watchSeconds: 40 });
  const { simulation } = meter;
  try {
    await meter.read(VOLTS);
    let stalled = false;
    let dropped = false;
    const { outcome } = await meter.run(({ atMs }) => {
      if (atMs > 3000 && !stalled) {
        stalled = true;
        simulation.misbehave.stall("dmm", true);
      }
      if (atMs > 14_000) simulation.misbehave.stall("dmm", false);
      if (atMs > 25_000 && !dropped) {
        dropped = true;
        simulation.misbehave.dropLink("dmm", "reset");
      }
    });
    expect(outcome).toMatchObject({ ended: "as-planned", output: "off", trip: null });
    const silent = meter.problems.filter((each) => each.code === "no-reply");
    expect(silent).toHaveLength(1);
    expect(silent[0]?.message).toContain("does not answer");
    expect((await meter.during(1000)).length).toBeGreaterThan(20);
  } finally {
    await meter.close();
  }
});

test("a meter that was switched off and on reads volts: it is set again, and none of them passes for ohms for long", async () => {
  const meter = await MeterBench.start();
  const { simulation } = meter;
  try {
    await meter.read(OHMS);
    simulation.probe("12v");
    await meter.bench.pass(3000);
    expect(meter.readings.at(-1)?.value).toBeGreaterThan(1000);
    simulation.misbehave.reboot("dmm");
    const rebootedMs = meter.bench.clock.nowMs();
    const after = await meter.during(2000);
    expect(meter.problems.some((each) => each.message.includes("switched off and on"))).toBe(true);
    const wrong = after.filter((each) => each.kind === "value" && (each.value ?? 0) < 1);
    expect(Math.max(...wrong.map((each) => each.atMs)) - rebootedMs).toBeLessThan(350);
    expect(after.at(-1)?.value).toBeGreaterThan(1000);
  } finally {
    await meter.close();
  }
});

test("a cut is as quick with a meter that hangs as without one", async () => {
  const cutTakes = async (hangs: boolean): Promise<number> => {
    const meter = await MeterBench.start({ scenario: "single-feed", watchSeconds: 10 });
    const { bench, simulation } = meter;
    try {
      await meter.read(VOLTS);
      let cutMs: number | undefined;
      const { outcome } = await meter.run(({ atMs }) => {
        if (atMs > 3000 && hangs) simulation.misbehave.stall("dmm", true);
        if (atMs <= 5000 || cutMs !== undefined) return;
        cutMs = bench.clock.nowMs();
        bench.bench.cut("a test");
      });
      expect(outcome.output).toBe("off");
      const [feed] = Object.values(simulation.truth().feeds);
      const off = feed?.switchings.find((each) => each.output === "off" && each.atMs >= (cutMs ?? 0));
      return (off?.atMs ?? Number.POSITIVE_INFINITY) - (cutMs ?? 0);
    } finally {
      simulation.misbehave.stall("dmm", false);
      await meter.close();
    }
  };
  const without = await cutTakes(false);
  expect(without).toBeLessThan(60);
  expect(await cutTakes(true)).toBeLessThanOrEqual(without + 5);
});

test("another instrument at the meter's address is never read", async () => {
  const meter = await MeterBench.start();
  const { simulation } = meter;
  try {
    await meter.read(VOLTS);
    simulation.misbehave.identity("dmm", "Bench,SIM-METER,SN10,1.0");
    simulation.misbehave.dropLink("dmm", "reset");
    await meter.bench.pass(100);
    expect((await meter.during(15_000)).length).toBe(0);
    expect(meter.problems.map((each) => each.code)).toContain("wrong-identity");
    simulation.misbehave.identity("dmm", null);
    expect((await meter.during(5000)).length).toBeGreaterThan(20);
  } finally {
    await meter.close();
  }
});

test("a scanner's channels are read by the bench file's names of their points", async () => {
  const meter = await MeterBench.start({ meterTraits: { scanner: { 101: "core", 102: "5v" } } });
  try {
    const scanner = meter.simulation.benchFile.instruments["dmm"]?.scanner ?? {};
    expect(scanner).toEqual({ core: 101, "5v": 102 });
    await meter.read({ ...OHMS, channel: scanner["core"] ?? null, leadNullOhms: 0.1 });
    const [first, ...others] = await meter.during(500);
    expect(first).toMatchObject({ kind: "value", channel: 101 });
    expect(others.at(-1)?.value).toBeCloseTo(0.41, 2);
  } finally {
    await meter.close();
  }
});

test("the leads are nulled with the tips together, and kept for this meter", async () => {
  const meter = await MeterBench.start();
  const directory = await mkdtemp(path.join(os.tmpdir(), "lead-null-"));
  const take = () => meter.bench.until(takeLeadNull({ client: meter, meter: "Bench,SIM", directory, job: null }));
  try {
    meter.simulation.probe("shorted");
    const { leadNull } = await take();
    // The simulated leads have 0.1 Ω, and their contact repeats within 2 mΩ.
    expect(leadNull.ohms).toBeCloseTo(0.1, 2);
    expect(await readLeadNull(directory, "Bench,SIM")).toEqual(leadNull);
    expect(await readLeadNull(directory, "another meter")).toBeNull();
    // 4.7 Ω is no lead.
    meter.simulation.probe("soc");
    await expect(take()).rejects.toThrow("too much for leads");
    expect(JSON.parse(await readFile(path.join(directory, "lead-null.json"), "utf8"))).toEqual(leadNull);
  } finally {
    await meter.close();
  }
});
