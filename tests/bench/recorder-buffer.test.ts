import { describe, expect, it, test } from "vitest";
import { BenchFile } from "../../shared/files/bench-file.ts";
import { Recording } from "../../shared/files/recorder-entry.ts";
import type { Simulation } from "../../src/simulator/start-simulation.ts";
import { type RunReport, type RunWish, SimulatedBench, type SimulatedBenchOptions } from "./simulated-bench.ts";

/** Amps and volts of the supply's third channel, which goes to "aux". */
const SUPPLY = Recording.parse({
  seconds: 0.4,
  channels: {
    1: { point: "aux", reads: "amps", output: 3 },
    2: { point: "aux", reads: "volts", output: 3 },
  },
});
const METER = Recording.parse({ seconds: 0.2, channels: { 1: { point: "5v", reads: "volts" } } });

type Ran = RunReport & { simulation: Simulation; saidWhileOn: string[]; onMs: number };

async function ranWith(
  options: Partial<SimulatedBenchOptions>,
  { before, ...wish }: RunWish & { before?: (bench: SimulatedBench) => void } = {},
): Promise<Ran> {
  const bench = await SimulatedBench.start({
    scenario: "normal",
    dialect: "channel-list",
    recorder: { inside: "supply", record: SUPPLY },
    ...options,
  });
  try {
    const prepared = await bench.prepare({ watchSeconds: 1, ...wish });
    before?.(bench);
    const report = await bench.follow(prepared, wish);
    const { simulation } = bench;
    const switchings = Object.values(simulation.truth().feeds).flatMap((each) => each.switchings);
    const from = Math.min(...switchings.filter((each) => each.output === "on").map((each) => each.atMs));
    const to = Math.max(...switchings.filter((each) => each.output === "off").map((each) => each.atMs));
    const said = simulation.history().filter((each) => /SWE|ACQ|FETC|SAMP|DATA|INIT/.test(each.text));
    const saidWhileOn = said.filter((each) => each.atMs > from && each.atMs < to).map((each) => each.text);
    return { ...report, simulation, saidWhileOn, onMs: to - from };
  } finally {
    await bench.close();
  }
}

describe.each(["tcp", "pty"] as const)("the buffer of a supply, over %s", (transport) => {
  it("gives the inrush peak as a value with the simulator's own inside its uncertainty, without a word while anything is on", async () => {
    const { verdict, readVerdict, recording, outcome, simulation, saidWhileOn, header } = await ranWith({ transport });
    expect(recording?.because).toBeNull();
    expect(outcome).toMatchObject({ ended: "as-planned", output: "off" });
    expect(verdict.recorded).toMatchObject({ used: true, instrument: "buffer" });
    const peak = verdict.recorded?.peaks["aux"];
    const truth = simulation.truth().feeds["aux"]?.peakAmps ?? 0;
    expect(Math.abs((peak?.amps ?? 0) - truth)).toBeLessThan(peak?.expandedAmps ?? 0);
    expect(peak?.expandedAmps).toBeLessThan(0.1 * truth);
    expect(verdict.class).toBe(readVerdict.class);
    expect(saidWhileOn).toEqual([]);
    // Filed as an instrument of the run, by the identity of the supply that it is in.
    const found = header.instruments.map(({ name, kind, identity, driver }) => ({ name, kind, identity, driver }));
    const supply = found.find((each) => each.kind === "supply");
    expect(found).toContainEqual({
      name: "buffer",
      kind: "recorder",
      identity: supply?.identity,
      driver: "array-supply-buffer",
    });
  });
});

test("the buffer of a meter records the rail its probe is on, and that meter reads again afterwards", async () => {
  const bench = await SimulatedBench.start({ scenario: "normal", recorder: { inside: "meter", record: METER } });
  try {
    bench.simulation.probe("5v");
    const { recording, outcome } = await bench.run({ watchSeconds: 1 });
    expect(outcome).toMatchObject({ ended: "as-planned", output: "off" });
    expect(recording?.because).toBeNull();
    const values = recording?.recorded?.channels[0]?.values ?? new Float64Array();
    expect(values).toHaveLength(1000);
    expect(values[0]).toBeCloseTo(0, 1);
    expect(values.at(-1)).toBeCloseTo(5.02, 1);
    await readMeter(bench);
    const read = bench.sent.flatMap((each) => (each.type === "meter-readings" ? each.readings : []));
    expect(read.at(-1)).toMatchObject({ function: "volts" });
  } finally {
    await bench.close();
  }
});

test("a meter that is asked while its buffer waits reads at once, and the record is given up", async () => {
  const bench = await SimulatedBench.start({ scenario: "normal", recorder: { inside: "meter", record: METER } });
  try {
    // Lifted, so that nothing ever triggers it.
    const prepared = await bench.prepare({ watchSeconds: 3 });
    let isAsked = false;
    const { recording, outcome } = await bench.follow(prepared, {
      onEvent: (event) => {
        if (isAsked || event.event !== "reading" || event.atMs < 3000) return;
        isAsked = true;
        bench.bench.receive(meterRead(bench));
      },
    });
    expect(outcome).toMatchObject({ ended: "as-planned", output: "off" });
    expect(recording).toMatchObject({ recorded: null, because: expect.stringContaining("was needed for readings") });
    expect(bench.sent.some((each) => each.type === "meter-readings" && each.readings.length > 0)).toBe(true);
  } finally {
    await bench.close();
  }
});

const meterRead = (bench: SimulatedBench) => ({
  type: "meter-read" as const,
  id: 9000,
  lease: 1,
  deadlineMs: bench.clock.nowMs() + 5000,
  setting: { function: "volts" as const, rangeUpTo: 10, powerLineCycles: 1, channel: null, leadNullOhms: null },
});

async function readMeter(bench: SimulatedBench): Promise<void> {
  const before = bench.sent.length;
  bench.bench.receive(meterRead(bench));
  for (let i = 0; i < 50 && !bench.sent.slice(before).some((each) => each.type === "meter-readings"); i++)
    await bench.pass(50);
}

/** One fault of a supply's buffer: what is done before the run, and what is said of it. */
const FAULTS: { name: string; does: (simulation: Simulation) => void; says: RegExp }[] = [
  {
    name: "refuses a setting",
    does: ({ misbehave }) => void misbehave.refuse("psu", /SWE.*TINT/i),
    says: /refused a setting/,
  },
  {
    name: "is never armed",
    does: ({ misbehave }) => misbehave.ignore("psu", /INIT/i),
    says: /not ready within 2 s/,
  },
  {
    name: "is never triggered",
    does: ({ misbehave }) => misbehave.ignore("psu", /TRIG:ACQ/i),
    says: /nothing triggered it/,
  },
  {
    name: "hangs in the middle of its samples",
    does: rewritten((text) => (isData(text) ? "" : text)),
    says: /no more came within 2000 ms/,
  },
  {
    name: "sends half of its samples",
    does: rewritten((text) => (isData(text) ? text.split(",").slice(0, 400).join(",") : text)),
    says: /400 samples came; .* were expected/,
  },
  {
    name: "sends letters",
    does: rewritten((text) => (isData(text) ? text.replace(",", ",x") : text)),
    says: /something else than numbers/,
  },
  {
    name: "ends the connection inside its samples",
    does: rewritten((text) => (isData(text) ? `${text.slice(0, 30)}\n` : text)),
    says: /samples came|something else/,
  },
  {
    name: "shows ten times the current",
    does: rewritten((text) =>
      isData(text)
        ? text
            .split(",")
            .map((each) => (10 * Number(each)).toExponential(6))
            .join(",")
        : text,
    ),
    says: /is not used/,
  },
];

function rewritten(as: (text: string) => string) {
  return (simulation: Simulation): void => void simulation.misbehave.replies("psu", "all", { fault: "rewrite", as });
}
function isData(text: string): boolean {
  return /^[-+.\dE]+(,[-+.\dE]+){50}/i.test(text);
}

describe("a buffer that misbehaves leaves the run of its own supply as it is without one", () => {
  it.each(FAULTS)("$name", async ({ does, says }) => {
    const { outcome, verdict, readVerdict, recording, saidWhileOn } = await ranWith(
      {},
      { watchSeconds: 5, before: ({ simulation }) => does(simulation) },
    );
    expect([recording?.because, ...(verdict.recorded?.because ?? [])].join(" ")).toMatch(says);
    expect(outcome).toMatchObject({ ended: "as-planned", output: "off", trip: null });
    const { recorded: _, ...rest } = verdict;
    expect(rest).toEqual(readVerdict);
    expect(readVerdict.class).toBe("normal");
    expect(saidWhileOn).toEqual([]);
  });
});

test("a dead short is switched off as soon with a buffer that hangs as without one", async () => {
  const without = await ranWith({ scenario: "dead-short", recorder: undefined });
  const hanging = await ranWith(
    { scenario: "dead-short" },
    { before: ({ simulation }) => rewritten((text) => (isData(text) ? "" : text))(simulation) },
  );
  expect(hanging.outcome).toMatchObject({ ended: "board-stopped", output: "off" });
  expect(hanging.verdict.class).toBe("dead-short");
  expect(hanging.saidWhileOn).toEqual([]);
  // One reading of the supply takes 16 ms at most here: where it falls is chance.
  expect(Math.abs(hanging.onMs - without.onMs)).toBeLessThan(16);
});

test("a cut while the buffer is read is written past it, and ends the reading", async () => {
  const bench = await SimulatedBench.start({
    scenario: "normal",
    dialect: "channel-list",
    recorder: { inside: "supply", record: SUPPLY },
  });
  try {
    const { simulation } = bench;
    rewritten((text) => (isData(text) ? "" : text))(simulation);
    const prepared = await bench.prepare({ watchSeconds: 1 });
    // The outputs are off, and the buffer owes its samples for two seconds.
    let cutAtMs = Number.POSITIVE_INFINITY;
    const look = (): void => {
      const fetched = simulation.history().some((each) => /FETC:ARR/.test(each.text));
      if (!fetched) return void bench.clock.after(5, look);
      cutAtMs = bench.clock.nowMs();
      bench.bench.receive({ type: "cut", id: 9001, by: "a person" });
    };
    look();
    const { recording } = await bench.follow(prepared, {});
    expect(recording).toMatchObject({ recorded: null, because: expect.stringContaining("off was sent first") });
    await bench.pass(1000);
    const off = simulation.history().find((each) => each.atMs >= cutAtMs && /OUTP.* (OFF|0)/.test(each.text));
    expect((off?.atMs ?? Number.POSITIVE_INFINITY) - cutAtMs).toBeLessThan(20);
    const proof = bench.sent.find((each) => each.type === "cut-proof");
    expect(proof).toMatchObject({ output: "off" });
  } finally {
    await bench.close();
  }
});

test("the bench file: a recorder at the address of a supply or a meter is its buffer, and has what a buffer has", () => {
  const psu = { kind: "supply", address: "TCPIP0::192.0.2.20::5025::SOCKET" };
  const of = (buffer: object, more: object = {}) =>
    BenchFile.safeParse({
      version: 1,
      instruments: { psu, buffer: { kind: "recorder", address: psu.address, ...buffer }, ...more },
      feeds: { aux: { supply: "psu", channel: 1 } },
    });
  const says = (result: ReturnType<typeof of>): string =>
    result.success ? "" : result.error.issues.map((each) => each.message).join("; ");
  const channels = { 1: { point: "aux", reads: "amps" } };
  expect(says(of({ record: { channels } }))).toBe("");
  expect(says(of({ record: { channels: { 1: { point: "aux", reads: "amps", shuntOhms: 0.1 } } } }))).toMatch(
    /own reading/,
  );
  expect(says(of({ record: { channels }, serialNumber: "7" }))).toMatch(/belongs to "psu"/);
  const scope = { kind: "recorder", address: "TCPIP0::192.0.2.30::5025::SOCKET", record: { channels } };
  expect(says(of({ ...scope }))).toMatch(/shuntOhms/);
  expect(says(of({ record: { channels } }, { other: { ...psu } }))).toMatch(/is also the address of/);
});
