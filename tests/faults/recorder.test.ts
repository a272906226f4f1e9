import { describe, expect, it, test } from "vitest";
import { Recording } from "../../shared/files/recorder-entry.ts";
import type { Simulation } from "../../src/simulator/start-simulation.ts";
import { type RunReport, SimulatedBench } from "../bench/simulated-bench.ts";

const RECORD = Recording.parse({
  seconds: 0.4,
  channels: {
    1: { point: "aux", reads: "amps", voltsPerAmp: 0.1, rangeVolts: 2, accuracyShare: 0.01 },
    2: { point: "aux", reads: "volts", probe: 10, rangeVolts: 4 },
  },
});

/** One fault of a recorder: what is done before the run, and what comes of it. */
interface Fault {
  name: string;
  dialect?: "list-preamble" | "asked-preamble";
  does: (simulation: Simulation) => void;
  says: RegExp;
}

const isData = (text: string): boolean => text.startsWith("#") || /^-?\d+(,-?\d+){50}/.test(text);
const rewritten = (as: (text: string) => string) => (simulation: Simulation) =>
  void simulation.misbehave.replies("scope", "all", { fault: "rewrite", as });
const onList = (change: (fields: string[]) => void) =>
  rewritten((text) => {
    if (!text.startsWith("1,0,")) return text;
    const fields = text.split(",");
    change(fields);
    return fields.join(",");
  });

const FAULTS: Fault[] = [
  {
    name: "answers nothing from the start of the run on",
    does: ({ misbehave }) => misbehave.stall("scope", true),
    says: /not ready within 2 s/,
  },
  {
    name: "greets each connection with two megabytes",
    does: ({ misbehave }) => misbehave.greet("scope", "x".repeat(2_000_000)),
    says: /answered before|without an end|not ready/,
  },
  {
    name: "is another instrument by now",
    does: ({ misbehave }) => misbehave.identity("scope", "Other,SCOPE,1,1"),
    says: /answered before/,
  },
  {
    name: "refuses to be armed",
    does: ({ misbehave }) => void misbehave.refuse("scope", /SING/i),
    says: /not ready within 2 s/,
  },
  {
    name: "refuses a setting",
    does: ({ misbehave }) => void misbehave.refuse("scope", /TIM/i),
    says: /refused a setting/,
  },
  {
    name: "is never triggered",
    does: ({ misbehave }) => misbehave.ignore("scope", /TRIG:EDGE:SOUR|LEV/i),
    says: /triggered it|not used/,
  },
  {
    name: "sends half a block and no more",
    does: rewritten((text) => (isData(text) ? text.slice(0, text.length / 2) : text)),
    says: /no more came within/,
  },
  {
    name: "says fewer samples than its preamble has points",
    dialect: "asked-preamble",
    does: rewritten((text) => (isData(text) ? text.split(",").slice(0, 100).join(",") : text)),
    says: /100 samples came; .* were expected/,
  },
  {
    name: "has letters among its numbers",
    dialect: "asked-preamble",
    does: rewritten((text) => (isData(text) ? text.replace(",", ",x") : text)),
    says: /something else than numbers/,
  },
  {
    name: "ends the connection inside its record",
    does: ({ misbehave }) => void misbehave.replies("scope", { every: 1 }, { fault: "cut", bytes: 30, how: "reset" }),
    says: /closed|not ready|ECONNRESET/,
  },
  {
    name: "says a block of another length",
    does: rewritten((text) => (text.startsWith("#") ? `#9999999999${text.slice(6)}` : text)),
    says: /a block of 999999999 bytes/,
  },
  {
    name: "says a preamble without numbers",
    does: onList((fields) => fields.fill("?", 4)),
    says: /in place of a number/,
  },
  { name: "says that a step takes no time", does: onList((fields) => fields.fill("0", 4, 5)), says: /time step/ },
  {
    name: "shows ten times the current",
    does: onList((fields) => fields.fill(String(10 * Number(fields[7])), 7, 8)),
    says: /is not used/,
  },
  { name: "shows a level of nothing", does: onList((fields) => fields.fill("1e-12", 7, 8)), says: /is not used/ },
  {
    name: "swaps the bytes of its words",
    does: rewritten((text) => (text === "MSBF" ? "LSBF" : text)),
    says: /is not used/,
  },
];

async function ranWith(options: {
  scenario: string;
  fault?: Fault;
  hasRecorder?: boolean;
}): Promise<{ report: RunReport; simulation: Simulation; onMs: number; saidWhileOn: string[] }> {
  const { scenario, fault, hasRecorder = true } = options;
  const bench = await SimulatedBench.start({
    scenario,
    ...(hasRecorder ? { recorder: { dialect: fault?.dialect ?? "list-preamble", record: RECORD } } : {}),
  });
  try {
    const prepared = await bench.prepare({ watchSeconds: 5 });
    const { simulation } = bench;
    fault?.does(simulation);
    const report = await bench.follow(prepared, {});
    const switchings = Object.values(simulation.truth().feeds).flatMap((each) => each.switchings);
    const from = Math.min(...switchings.filter((each) => each.output === "on").map((each) => each.atMs));
    const to = Math.max(...switchings.filter((each) => each.output === "off").map((each) => each.atMs));
    const said = simulation.history().filter((each) => each.instrument === "scope" && each.kind !== "state");
    const saidWhileOn = said.filter((each) => each.atMs > from && each.atMs < to).map((each) => each.text);
    return { report, simulation, onMs: to - from, saidWhileOn };
  } finally {
    await bench.close();
  }
}

describe("a recorder that misbehaves leaves a run as it is without one", () => {
  it.each(FAULTS)("$name", async (fault) => {
    const { report, saidWhileOn } = await ranWith({ scenario: "normal", fault });
    const { outcome, verdict, readVerdict, recording } = report;
    expect([recording?.because, ...(verdict.recorded?.because ?? [])].join(" ")).toMatch(fault.says);
    expect(outcome).toMatchObject({ ended: "as-planned", output: "off", trip: null });
    // All that a recorder may change of a verdict is what stands beside it.
    const { recorded: _, ...rest } = verdict;
    expect(rest).toEqual(readVerdict);
    expect(readVerdict.class).toBe("normal");
    // On the wire: not a byte to or from it, and no connection, from the first output on to the last one off.
    expect(saidWhileOn).toEqual([]);
  });
});

test("a dead short is switched off as soon with a recorder that hangs as without one", async () => {
  const without = await ranWith({ scenario: "dead-short", hasRecorder: false });
  const stalled: Fault = { name: "hangs", does: ({ misbehave }) => misbehave.stall("scope", true), says: /./ };
  const hanging = await ranWith({ scenario: "dead-short", fault: stalled });
  const good = await ranWith({ scenario: "dead-short" });
  for (const each of [hanging, good]) {
    expect(each.report.outcome).toMatchObject({ ended: "board-stopped", output: "off" });
    expect(each.saidWhileOn).toEqual([]);
    // One reading of the supply takes 16 ms at most here: where it falls is chance.
    expect(Math.abs(each.onMs - without.onMs)).toBeLessThan(16);
    expect(each.report.verdict.class).toBe("dead-short");
  }
  // It triggers at half of nominal, which a short never reaches.
  expect(good.report.recording?.because).toMatch(/nothing triggered it/);
});

test("a cut while a recorder keeps the run waiting: the run does not begin", async () => {
  const bench = await SimulatedBench.start({
    scenario: "normal",
    recorder: { dialect: "list-preamble", record: RECORD },
  });
  try {
    const prepared = await bench.prepare({ watchSeconds: 1 });
    bench.simulation.misbehave.stall("scope", true);
    bench.clock.after(500, () => bench.bench.cut("a person"));
    const { outcome } = await bench.follow(prepared, {});
    expect(outcome).toMatchObject({ ended: "stopped-by-person", output: "off" });
    expect(Object.values(bench.simulation.truth().feeds).flatMap((each) => each.switchings)).toEqual([]);
  } finally {
    await bench.close();
  }
});

test("a recorder that does not answer when the bench is connected is told of, and runs go on without it", async () => {
  const bench = await SimulatedBench.start({
    scenario: "normal",
    recorder: { dialect: "list-preamble", record: RECORD },
  });
  try {
    bench.simulation.misbehave.stall("scope", true);
    const { outcome, recording } = await bench.run({ watchSeconds: 1 });
    expect(outcome).toMatchObject({ ended: "as-planned", output: "off" });
    expect(recording).toBeNull();
    const said = bench.sent.flatMap((each) => (each.type === "problem" ? [each.problem.message] : []));
    expect(said.join("\n")).toMatch(/scope/);
  } finally {
    await bench.close();
  }
});
