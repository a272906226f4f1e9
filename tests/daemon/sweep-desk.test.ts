import { expect, test } from "vitest";
import type { SweepLine } from "../../shared/sweep.ts";
import { loadScenario } from "../../src/simulator/load-scenario.ts";
import { isOn, timesOn } from "../command/powered-bench.ts";
import { type HandDoes, SweepRig, type SweepRigOptions } from "./sweep-rig.ts";

async function swept<T>(options: SweepRigOptions, look: (rig: SweepRig) => T | Promise<T>): Promise<T> {
  const rig = await SweepRig.start(options);
  try {
    return await look(rig);
  } finally {
    await rig.close();
  }
}

const rails = (rig: SweepRig): string[] => rig.of("rail").map((each) => each.rail);

test("a board whose core does not start: every point is visited, also after a fail, and the diagnosis says where it stops", () =>
  swept({ scenario: "partly-up" }, async (rig) => {
    const { done, end } = await rig.run();
    expect(rails(rig)).toHaveLength(14);
    expect(Object.keys({ ...done.readings?.volts, ...done.readings?.signals })).toHaveLength(14);
    const dead = ["core", "mem", "mem-vpp", "power-good"];
    for (const [rail, verdict] of Object.entries(rig.verdicts)) {
      // A host drives reset, and there is none: low, it says nothing of the card (PCI Express CEM, PERST#).
      const undriven = rail === "reset" ? "not-measured" : null;
      expect({ rail, verdict }).toEqual({ rail, verdict: undriven ?? (dead.includes(rail) ? "fail" : "pass") });
    }
    expect(done).toMatchObject({ ended: "all-visited", draw: "partly-up", output: "off", trip: null });
    expect(done.diagnosis?.faults.slice(0, 2).map((each) => each.element)).toContain("core");
    expect(end?.outcome.output).toBe("off");
    expect(isOn(rig.bench.simulation)).toBe(false);
    const kinds = rig.filed.map((each) => each.kind);
    expect([kinds[0], kinds.at(-1), kinds.filter((each) => each === "sweep-rail").length]).toEqual([
      "sweep-started",
      "sweep-ended",
      14,
    ]);
    // Every value was read off the board while the simulator had it on, and is what the simulator has there.
    expect(rig.of("rail").find((each) => each.rail === "5v")?.volts).toBeCloseTo(5.02, 2);
  }));

test("a hand that slips, lands on a wrong rail, lifts too early and stays where it was: asked once, measured again, corrected by redo", () => {
  const does: HandDoes = (line, rig) => {
    if (line.event === "place-probe") {
      if (line.rail === "12v") {
        // A slip onto a neighbour on the way.
        rig.later(300, () => rig.probe("5v"));
        rig.later(450, () => rig.probe("12v"));
        return false;
      }
      if (line.rail === "1v8") {
        rig.later(400, () => rig.probe("5v"));
        return false;
      }
      if (line.rail === "soc") {
        // Too short to count, then again.
        rig.later(300, () => rig.probe("soc"));
        rig.later(520, () => rig.probe(null));
        rig.later(1200, () => rig.probe("soc"));
        return false;
      }
      if (line.rail === "pll" && rig.of("rail").every((each) => each.rail !== "pll")) {
        // A wrong point, and the hand stays there whatever is asked.
        rig.later(300, () => rig.probe("5v"));
        return false;
      }
    }
    if (line.event === "question" && line.rail === "1v8") {
      rig.later(700, () => rig.probe(null));
      rig.later(1500, () => rig.probe("1v8"));
    }
    if (line.event === "rail" && line.rail === "pll" && line.verdict === "fail") {
      rig.later(100, () => rig.probe(null));
      rig.later(200, () => rig.desk.say("redo"));
      return false;
    }
    return undefined;
  };
  return swept({ scenario: "normal", hand: does }, async (rig) => {
    const { done } = await rig.run();
    expect(rig.of("question").map(({ rail, fits }) => [rail, fits])).toEqual([
      ["1v8", "5v"],
      ["pll", "5v"],
    ]);
    expect(new Set(Object.values(rig.verdicts))).toEqual(new Set(["pass"]));
    const [first, second, ...more] = rig.of("rail").filter((each) => each.rail === "pll");
    expect([first?.verdict, second?.verdict, second?.corrects, more.length]).toEqual(["fail", "pass", true, 0]);
    expect(first?.volts).toBeCloseTo(5.02, 2);
    expect(first?.questioned?.because).toContain("5v");
    // Both stay in the record, and the second says which it stands in for.
    const filed = rig.filed.flatMap((each) => (each.kind === "sweep-rail" && each.rail.rail === "pll" ? [each] : []));
    expect(filed.map((each) => each.corrects === null)).toEqual([true, false]);
    expect(done.rails.find((each) => each.rail === "pll")?.verdict).toBe("pass");
    expect(done.rails).toHaveLength(14);
  });
});

test("at its longest on-time the board goes off, cools four times as long, comes back by the stages and goes on at the same rail", () =>
  swept({ scenario: "normal", maxOnMs: 9000 }, async (rig) => {
    const { done } = await rig.run();
    const { simulation } = rig.bench;
    expect(new Set(Object.values(rig.verdicts))).toEqual(new Set(["pass"]));
    expect(rails(rig)).toHaveLength(14);
    expect(done).toMatchObject({ ended: "all-visited", output: "off" });
    const cooling = rig.of("cooling");
    expect(cooling[0]?.secondsLeft).toBe(36);
    expect(cooling.every((each) => each.rail === cooling[0]?.rail || cooling.length > 8)).toBe(true);
    // The rail it was at when it went off is the first that is named after it came back.
    const after = rig.lines.slice(rig.lines.findLastIndex((each) => each.event === "cooling"));
    const named = after.find(
      (each): each is Extract<SweepLine, { event: "place-probe" }> => each.event === "place-probe",
    );
    expect(named?.rail).toBe(cooling.at(-1)?.rail);
    // By the simulator's own account: touch, hold-low and rise each time, and off for four times nine seconds in between.
    const switchings = simulation.truth().feeds["aux"]?.switchings ?? [];
    const ons = switchings.filter((each) => each.output === "on");
    expect(ons.length % 3).toBe(0);
    expect(ons.length).toBeGreaterThan(3);
    const rises = ons.filter((_, index) => index % 3 === 2).map((each) => each.atMs);
    const offs = switchings
      .filter((each) => each.output === "off")
      .filter((_, index) => index % 3 === 2)
      .map((each) => each.atMs);
    for (const [index, offMs] of offs.slice(0, -1).entries()) {
      expect(offMs - (rises[index] ?? 0)).toBeLessThan(9500);
      expect((rises[index + 1] ?? 0) - offMs).toBeGreaterThanOrEqual(36_000);
    }
    const runs = new Set(rig.filed.flatMap((each) => (each.kind === "sweep-rail" ? [each.run] : [])));
    expect(runs.size).toBe(rises.length);
  }));

test("a board that trips while it is probed: off, what was read so far is filed and diagnosed", () =>
  swept(
    {
      scenario: "leaking-creep",
      // Nobody goes on after the second rail: the leak does.
      hand: (line) => (line.event === "place-probe" && line.left < 4 ? false : undefined),
    },
    async (rig) => {
      const { done, end } = await rig.run();
      expect(done).toMatchObject({ ended: "board-stopped", output: "off" });
      expect(end?.outcome.ended).toBe("board-stopped");
      expect(done.trip?.board).toBe(true);
      expect(Object.keys(rig.verdicts).length).toBeGreaterThan(0);
      expect(
        done.rails.filter((each) => each.how === "not-visited").every((each) => each.verdict === "not-measured"),
      ).toBe(true);
      expect(done.diagnosis?.faults.length).toBeGreaterThan(0);
      expect(isOn(rig.bench.simulation)).toBe(false);
    },
  ));

test("a cut ends a sweep where it is, with the outputs off and the record closed", () => {
  const does: HandDoes = (line, rig) => {
    if (line.event !== "rail" || line.rail !== "5v") return undefined;
    rig.bench.bench.cut("Ctrl-C");
    rig.desk.cut("Ctrl-C");
    return false;
  };
  return swept({ scenario: "normal", hand: does }, async (rig) => {
    const { done } = await rig.run();
    expect(done).toMatchObject({ ended: "cut", because: ["cut by Ctrl-C"], output: "off" });
    expect(rails(rig)).toEqual(["12v", "5v"]);
    expect(isOn(rig.bench.simulation)).toBe(false);
    expect(rig.filed.at(-1)).toMatchObject({ kind: "sweep-ended", ended: "cut" });
  });
});

test("a cold sweep of a shorted high side: nothing is energised, ohms by each rail's own rule, and it is never to be powered", () =>
  swept({ scenario: "shorted-high-side", cold: true, diode: true }, async (rig) => {
    const { done } = await rig.run();
    expect(timesOn(rig.bench.simulation)).toBe(0);
    const cold = rig.of("rail").filter((each) => each.quantity === "ohms");
    // A big core at 0.6 Ω is no short, an input at 0.6 Ω is.
    expect(Object.fromEntries(cold.map((each) => [each.rail, each.verdict]))).toMatchObject({
      core: "pass",
      mem: "pass",
      aux: "fail",
      "aux:core": "fail",
      "aux:mem": "pass",
      // Its input capacitors still charge: past its least it is no short, and its end is not in sight.
      slot12: "pass",
    });
    expect(cold.find((each) => each.rail === "aux")?.because[0]).toContain("a short");
    // Red on ground is filed with each drop.
    const drops = rig.filed.flatMap((each) =>
      each.kind === "sweep-rail" && each.rail.quantity === "diode" ? [each.rail] : [],
    );
    expect(drops.length).toBeGreaterThan(10);
    expect(drops.every((each) => each.polarity === "black-on-point" && typeof each.diodeVolts === "number")).toBe(true);
    expect(done.neverPower.join("\n")).toMatch(/aux reads .* the same as core .*shorted high side/);
    expect(done.neverPower.join("\n")).toMatch(/aux to core reads .*do not power it/);
    expect(done.output).toBe("off");
    expect(done.draw).toBeNull();
    expect(done.diagnosis?.faults[0]?.kind).toBe("high-side-short");
    const filed = rig.filed.flatMap((each) => (each.kind === "cold-readings" ? [each] : []));
    expect(filed).toHaveLength(1);
    expect(filed[0]).toMatchObject({ by: "meter" });
    expect(Object.keys(filed[0]?.ohms ?? {})).toHaveLength(17);
  }));

test("an open pair is taken by the word as open, not as a number, and a charging input that may be open once its end is known", () =>
  swept({ scenario: "open-input", cold: true }, async (rig) => {
    await rig.run();
    const input = rig.of("rail").find((each) => each.rail === "in12");
    // The way in is open: what the meter sees is megohms, which it reads to their end rather than pass what it does not know.
    expect(input).toMatchObject({ verdict: "fail", limits: [300, 100_000] });
    expect(input?.ohms).toBeGreaterThan(1_000_000);
    const pair = rig.of("rail").find((each) => each.rail === "in12:core");
    expect(pair).toMatchObject({ verdict: "pass" });
    for (const each of rig.of("rail")) if (each.how === "contact") expect(["no", "rising"]).toContain(each.moving);
    expect(rig.of("reading").some((each) => each.motion === "rising")).toBe(true);
  }));

test("with a scanner the same sweep runs by channels, without a hand", async () => {
  const { scenario, board } = await loadScenario("normal");
  const points = Object.keys(board?.rails ?? {});
  const scanner = Object.fromEntries(points.map((rail, index) => [String(101 + index), rail]));
  await swept(
    {
      scenario: { ...scenario, ...(board === null ? {} : { board }), meter: { ...scenario.meter, scanner } },
      scanner: Object.fromEntries(points.map((rail, index) => [rail, 101 + index])),
      hand: () => false,
    },
    async (rig) => {
      const { done } = await rig.run();
      expect(new Set(Object.values(rig.verdicts))).toEqual(new Set(["pass"]));
      expect(rails(rig)).toHaveLength(points.length);
      expect(rig.of("rail").every((each) => each.how === "scanner")).toBe(true);
      expect(done.ended).toBe("all-visited");
    },
  );
});
