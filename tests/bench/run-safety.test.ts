import { expect, test } from "vitest";
import type { GuardianPort } from "../../src/bench/guardian-port.ts";
import { SimulatedBench } from "./simulated-bench.ts";
import { FEED, type StudyBoard, scenarioOf } from "./start-study-boards.ts";

/** Starts at 3 A, not at the first 2 A: the run asks for a raise, and then is off for ten seconds. */
const needsRaise: StudyBoard = {
  farads: 0.002,
  lockOutVolts: [7.5, 7],
  demandWatts: 24,
  fan: false,
  riseMs: 5,
  described: true,
};

/** A guardian that is always there, and what it was told. */
function scriptedGuardian(): { port: GuardianPort; told: string[] } {
  const told: string[] = [];
  return {
    told,
    port: {
      arm: async () => void told.push("arm"),
      disarm: () => void told.push("disarm"),
      isAlive: true,
      onLost: () => () => {},
      close: () => {},
    },
  };
}

const supplyOf = (bench: SimulatedBench): string => {
  const [feed] = Object.values(bench.simulation.benchFile.feeds);
  if (feed === undefined || "manual" in feed) throw new Error("the scenario has no switched feed");
  return feed.supply;
};

test("a daemon that goes silent while nothing is on ends the run: nothing comes on after it", async () => {
  const bench = await SimulatedBench.start({ scenario: scenarioOf(needsRaise), bench: { beatLimitMs: 250 } });
  let silentSinceMs: number | undefined;
  const beat = (): void => {
    bench.clock.after(50, beat);
    if (silentSinceMs === undefined) bench.bench.receive({ type: "beat", lease: 1 });
  };
  beat();
  try {
    const { outcome } = await bench.run({
      watchSeconds: 3,
      answer: () => {
        silentSinceMs = bench.clock.nowMs();
        return true;
      },
    });
    expect(silentSinceMs).toBeDefined();
    expect(outcome).toMatchObject({ ended: "failed", output: "off", trip: { rule: "lease-lost" } });
    const { switchings = [] } = bench.simulation.truth().feeds[FEED] ?? {};
    expect(switchings.filter((each) => each.output === "on" && each.atMs > (silentSinceMs ?? 0))).toEqual([]);
  } finally {
    await bench.close();
  }
});

test("a machine that was suspended while a board was on cuts it the moment it is back", async () => {
  let sleptMs = 0;
  const bench = await SimulatedBench.start({ scenario: "single-feed", bench: { sleptMs: () => sleptMs } });
  let wokeMs = 0;
  try {
    const { outcome } = await bench.run({
      watchSeconds: 10,
      onEvent: (event) => {
        if (event.atMs < 4000 || sleptMs > 0) return;
        sleptMs = 3_600_000;
        wokeMs = bench.clock.nowMs();
      },
    });
    expect(outcome).toMatchObject({ ended: "failed", output: "off", trip: { rule: "clock-gap" } });
    const [feed] = Object.values(bench.simulation.truth().feeds);
    const off = feed?.switchings.find((each) => each.output === "off" && each.atMs >= wokeMs);
    // The bench looks every 50 ms; an answer under way takes 16 ms.
    expect((off?.atMs ?? Number.POSITIVE_INFINITY) - wokeMs).toBeLessThanOrEqual(70);
  } finally {
    await bench.close();
  }
});

test("a clock that reads a second apart on a busy machine is no suspension", async () => {
  let calls = 0;
  const bench = await SimulatedBench.start({
    scenario: "single-feed",
    bench: { sleptMs: () => (calls++ % 2 === 0 ? 0 : 1000) },
  });
  try {
    const { outcome } = await bench.run({ watchSeconds: 5 });
    expect(outcome).toMatchObject({ ended: "as-planned", output: "off" });
  } finally {
    await bench.close();
  }
});

test("a run that ended in doubt is cut on until off is proved; the guardian stays armed until then", async () => {
  const guardian = scriptedGuardian();
  const bench = await SimulatedBench.start({
    scenario: "single-feed",
    bench: { startGuardian: async () => guardian.port },
  });
  const alarms = (): string[] => bench.sent.flatMap((each) => (each.type === "alarm" ? [each.output] : []));
  try {
    const { outcome } = await bench.run({
      watchSeconds: 5,
      onEvent: (event) => {
        if (event.atMs > 4000) bench.simulation.misbehave.stayOn(supplyOf(bench), true);
      },
    });
    expect(outcome.output).toBe("unknown");
    await bench.pass(30_000);
    expect(alarms().at(-1)).toBe("unknown");
    expect(guardian.told).not.toContain("disarm");
    bench.simulation.misbehave.stayOn(supplyOf(bench), false);
    await bench.pass(2500);
    expect(Object.values(bench.simulation.truth().feeds).map((each) => each.output)).toEqual(["off"]);
    expect(alarms().at(-1)).toBe("off");
    expect(guardian.told.at(-1)).toBe("disarm");
  } finally {
    await bench.close();
  }
});

test("an output found on that was cut and then answers nothing is told as in doubt", async () => {
  const bench = await SimulatedBench.start({ scenario: "single-feed" });
  const { simulation, clock } = bench;
  try {
    const [feed = ""] = Object.keys(simulation.benchFile.feeds);
    simulation.misbehave.frontPanel(feed, { output: "on" });
    const watch = (): void => {
      const wasCut = simulation.history().some((each) => each.kind === "command" && /OUTP\d? OFF/.test(each.text));
      if (wasCut) simulation.misbehave.stall(supplyOf(bench), true);
      else clock.after(1, watch);
    };
    watch();
    await expect(bench.prepare()).rejects.toThrow("could not be confirmed off");
  } finally {
    simulation.misbehave.stall(supplyOf(bench), false);
    await bench.close();
  }
});
