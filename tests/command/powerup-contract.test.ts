import { afterAll, describe, expect, it } from "vitest";
import { loadScenario } from "../../src/simulator/load-scenario.ts";
import { realClock } from "../../src/system/real-clock.ts";
import { endGuardians } from "../end-guardians.ts";
import {
  despiteBusyMachine,
  isOn,
  type PoweredBench,
  poweredBench,
  timesOn,
  untilTrue,
  wasTooSlow,
} from "./powered-bench.ts";
import { type Ended, endPrograms, type RunningProgram } from "./run-program.ts";

/** The keys of the contract of the command line. */
const KEYS = "class candidates because features energyJoules trip output job capture".split(" ");
const FEATURES =
  "plateauAmps peakAmps sampleIntervalMs chargeCoulombs inputFarads shortOhms limitedMs collapseRatio periodMs driftAmpsPerMin plateaus".split(
    " ",
  );

interface Document {
  class: string;
  because: string[];
  features: Record<string, number | null>;
  energyJoules: number;
  trip: { rule: string; stage: string; because: string; board: boolean } | null;
  output: string;
  ended: string;
  job: string | null;
  capture: string | null;
}

const benches: PoweredBench[] = [];
afterAll(async () => {
  await endPrograms();
  for (const each of benches) await each.close();
});

const bench = async (...options: Parameters<typeof poweredBench>): Promise<PoweredBench> => {
  const made = await poweredBench(...options);
  benches.push(made);
  return made;
};

/** The one document on standard output, and nothing else there. */
function documentOf({ out }: { out: string }): Document {
  const lines = out.split("\n");
  expect(lines).toHaveLength(2);
  expect(lines[1]).toBe("");
  const document = JSON.parse(lines[0] ?? "") as Document;
  expect(Object.keys(document)).toEqual(expect.arrayContaining(KEYS));
  expect(Object.keys(document.features)).toEqual(expect.arrayContaining(FEATURES));
  return document;
}

interface Run extends Document {
  hasReached: boolean;
  rig: PoweredBench;
  end: Ended;
}

/** One power-up with `--json` to its end; `when` it has come so far by the simulator's account, `act`. */
const powerup = (
  scenario: string,
  more: string[] = [],
  when: (rig: PoweredBench) => boolean = () => true,
  act: (rig: PoweredBench, program: RunningProgram) => void = () => {},
): Promise<Run> =>
  despiteBusyMachine(
    async () => {
      const rig = await bench({ scenario });
      const program = rig.powerup("--json", ...more);
      const over = program.ended.then(() => true);
      let hasEnded = false;
      void over.then(() => {
        hasEnded = true;
      });
      await untilTrue(() => hasEnded || when(rig));
      const hasReached = !hasEnded;
      if (hasReached) act(rig, program);
      const end = await program.ended;
      return { ...documentOf(end), rig, end, hasReached };
    },
    ({ trip, hasReached }) => (wasTooSlow(trip, hasReached) ? JSON.stringify(trip) : null),
  );

const volts = (rig: PoweredBench): number => rig.simulation.truth().feeds["in12"]?.boardVolts ?? 0;
/** Past the rise: the board has been at nominal for a moment. */
const isUp = (rig: PoweredBench): boolean => volts(rig) > 11.5;

describe("powerup --json", { timeout: 120_000 }, () => {
  it("0: one document on standard output, everything for people on standard error", async () => {
    const { rig, end, ...document } = await powerup("single-feed");
    expect(document).toMatchObject({ output: "off", trip: null, ended: "as-planned" });
    expect(document.job).toMatch(/^[0-9a-f-]{36}$/);
    expect(document.capture).toMatch(/^[0-9a-f-]{36}$/);
    expect(document.features["plateauAmps"]).toBeGreaterThan(0.5);
    expect(end.err).toContain("not an emergency stop");
    for (const stage of ["touch", "hold-low", "rise", "watch"]) expect(end.err).toMatch(new RegExp(`^${stage}: `, "m"));
    expect(end.err).not.toContain("\u001b");
    expect(end.code).toBe(0);
    expect(timesOn(rig.simulation)).toBeGreaterThan(0);
    expect(isOn(rig.simulation)).toBe(false);
  });

  it("3: a dead short stops it in touch", async () => {
    const { rig, end, ...document } = await powerup("dead-short", ["--waive", "cold readings skipped, a test"]);
    expect(document).toMatchObject({
      class: "dead-short",
      output: "off",
      ended: "board-stopped",
      trip: { stage: "touch", board: true },
    });
    expect(end.code).toBe(3);
    expect(isOn(rig.simulation)).toBe(false);
  });

  it("1: a link lost while it watches", async () => {
    const { rig, end, ...document } = await powerup("single-feed", ["--watch", "30"], isUp, ({ simulation }) =>
      simulation.misbehave.dropLink("psu", "reset"),
    );
    expect(document).toMatchObject({ output: "off", ended: "failed", trip: { rule: "link-lost", board: false } });
    expect(end.code).toBe(1);
    expect(isOn(rig.simulation)).toBe(false);
  });

  it("4: an output that stays on, shouted", async () => {
    const { rig, end, ...document } = await powerup(
      "single-feed",
      ["--watch", "30"],
      isUp,
      ({ simulation }, program) => {
        simulation.misbehave.stayOn("psu", true);
        program.child.kill("SIGINT");
      },
    );
    expect(document).toMatchObject({ output: "unknown", ended: "stopped-by-person" });
    expect(end.code).toBe(4);
    expect(end.err).toMatch(/ALARM: The output could not be confirmed off/);
    expect(end.err).toMatch(
      /\*\*\* THE OUTPUT COULD NOT BE CONFIRMED OFF\. Switch the supply off at its own switch now\. \*\*\*\n$/,
    );
    expect(isOn(rig.simulation)).toBe(true);
    // Its guardian tries on, for as long as it lives.
    expect(await endGuardians(rig.folder.path)).toBe(1);
  });

  it("5 is told in words alone: nothing was energised, so there is no document", async () => {
    const rig = await bench({ scenario: "single-feed" });
    rig.simulation.misbehave.stall("psu", true);
    const end = await rig.powerup("--json").ended;
    expect(end.err).toMatch(/"psu".*no reply to "\*IDN\?".*\nNothing was energised\.\n$/);
    expect(end.out).toBe("");
    expect(end.code).toBe(5);
  });
});

describe("a permit that is not granted", () => {
  it("2: nothing measured, nothing waived, with all that is missing", async () => {
    const rig = await bench({ scenario: "normal", typesColdOhms: false });
    const end = await rig.powerup("--json").ended;
    const document = documentOf(end);
    expect(document).toMatchObject({ class: "cannot-tell", output: "off", ended: "failed", job: null });
    // The board file's feeds and pairs, each by name.
    for (const missing of [
      "Cold ohms of slot3v3",
      "Cold ohms of slot12",
      "Cold ohms of aux",
      "Ohms from aux to core",
      "Ohms from 5v to core",
    ]) {
      expect(end.err).toMatch(new RegExp(`^ {2}- ${missing}: not measured`, "m"));
      expect(document.because.join("\n")).toContain(missing);
    }
    expect(end.err).toContain("--waive");
    expect(end.code).toBe(2);
    expect(timesOn(rig.simulation)).toBe(0);
  });

  it("3: 50 Ω on a 12 V feed forbids power, also with a waiver", async () => {
    const rig = await bench({ scenario: "normal", typesColdOhms: false });
    const end = await rig.powerup("--json", "--ohms", "aux=50", "--waive", "it will be fine").ended;
    expect(documentOf(end)).toMatchObject({ class: "cannot-tell", output: "off", ended: "board-stopped" });
    // Under 100 Ω a cold 12 V input is never powered: the design's own rule, stricter than practice.
    expect(end.err).toMatch(/Cold ohms of aux: 50 Ω, below 100 Ω: never power it .*never waived/);
    expect(end.code).toBe(3);
    expect(timesOn(rig.simulation)).toBe(0);
  });
});

describe("a signal", { timeout: 120_000 }, () => {
  it.each([
    ["SIGINT", "touch", (rig: PoweredBench) => isOn(rig.simulation)],
    // The set-point stands at nominal, the board is on its way there.
    ["SIGTERM", "rise", (rig: PoweredBench) => volts(rig) > 4],
  ] as const)("%s in %s cuts at once and ends with the output off", async (signal, _, when) => {
    let sentMs = 0;
    const { rig, end, ...document } = await powerup("single-feed", [], when, (_rig, program) => {
      sentMs = realClock.nowMs();
      program.child.kill(signal);
    });
    expect(document).toMatchObject({
      output: "off",
      ended: "stopped-by-person",
      trip: { rule: "operator", board: false },
    });
    expect(document.trip?.because).toContain(signal === "SIGINT" ? "Ctrl-C" : signal);
    expect(end.code).toBe(1);
    expect(isOn(rig.simulation)).toBe(false);
    const switchings = Object.values(rig.simulation.truth().feeds).flatMap((each) => each.switchings);
    const tookMs = (switchings.at(-1)?.atMs ?? Number.POSITIVE_INFINITY) - sentMs;
    process.stdout.write(`off ${tookMs.toFixed(1)} ms after ${signal}\n`);
    expect(tookMs).toBeLessThan(1000);
  });

  it("before the permit is known ends it, with nothing energised", async () => {
    const rig = await bench({ scenario: "single-feed" });
    const program = rig.powerup("--json");
    // The supply is being asked who it is: the run itself has not begun.
    await untilTrue(() =>
      rig.simulation.history().some((each) => each.kind === "command" && each.text.includes("*IDN?")),
    );
    program.child.kill("SIGINT");
    const end = await program.ended;
    expect(documentOf(end)).toMatchObject({ output: "off", ended: "stopped-by-person", job: null });
    expect(end.err).toMatch(/Stopped by Ctrl-C; nothing was energised\.\n$/);
    expect(end.code).toBe(1);
    expect(timesOn(rig.simulation)).toBe(0);
  });
});

describe("--keep-on", { timeout: 120_000 }, () => {
  it("prints the document with the output on, holds, and says why it went off", async () => {
    let wasOn = false;
    const { lines, rig, end } = await keptOn("single-feed", ({ simulation }, program) => {
      wasOn = isOn(simulation);
      program.child.kill("SIGINT");
    });
    expect(wasOn, end.out).toBe(true);
    expect(lines[0]).toMatchObject({ output: "on", trip: null, ended: "as-planned" });
    expect(Object.keys(lines[0] ?? {})).toEqual(expect.arrayContaining(KEYS));
    expect(lines[1]).toEqual({ event: "off", why: "stopped by Ctrl-C", output: "off" });
    expect(lines).toHaveLength(2);
    expect(end.code).toBe(0);
    expect(isOn(rig.simulation)).toBe(false);
  });

  it("ends with 3 where the board trips it", async () => {
    const { scenario, board } = await loadScenario("single-feed");
    const in12 = scenario.feeds["in12"];
    if (board === null || in12 === undefined) throw new Error("Wren W1 has a board file and in12");
    // Well after the watch of 1 s a part gives way, and takes whatever the limit gives.
    const fault = { load: "late-short" as const, ohms: 0.5, afterMs: 4000, fromVolts: 5 };
    const faulty = { ...scenario, board, feeds: { in12: { ...in12, loads: [...in12.loads, fault] } } };
    const { lines, rig, end } = await keptOn(faulty, () => {});
    expect(lines[0]).toMatchObject({ output: "on", trip: null });
    expect(lines[1]).toMatchObject({ event: "off", output: "off" });
    expect(lines).toHaveLength(2);
    expect(end.code).toBe(3);
    expect(isOn(rig.simulation)).toBe(false);
  });
});

/** A power-up with `--keep-on`; `then` is done once its first line is out. */
function keptOn(
  scenario: Parameters<typeof poweredBench>[0]["scenario"],
  then: (rig: PoweredBench, program: RunningProgram) => void,
): Promise<{
  lines: Record<string, unknown>[];
  rig: PoweredBench;
  end: Ended;
}> {
  return despiteBusyMachine(
    async () => {
      const rig = await bench({ scenario });
      const program = rig.powerup("--json", "--keep-on");
      await Promise.race([program.until("out", /\n/), program.ended]);
      if (program.said.out.includes('"output":"on"')) then(rig, program);
      const end = await program.ended;
      const lines = end.out
        .split("\n")
        .filter((line) => line !== "")
        .map((line) => JSON.parse(line));
      return { lines, rig, end };
    },
    ({ lines, end }) =>
      end.code === 1 || lines.length === 1 ? JSON.stringify(lines.at(-1)?.["why"] ?? lines[0]?.["trip"]) : null,
  );
}
