import { expect, test } from "vitest";
import { loadScenario } from "../../src/simulator/load-scenario.ts";
import { SweepRig, type SweepRigOptions } from "./sweep-rig.ts";

async function swept(options: SweepRigOptions, look: (rig: SweepRig) => Promise<void>): Promise<void> {
  const rig = await SweepRig.start(options);
  try {
    await look(rig);
  } finally {
    await rig.close();
  }
}

/** The Kestrel K2 with lanes as they scatter on a good board, and one with its coupling capacitor open. */
async function withLanes(diodeVolts: Record<string, number>, ohms: Record<string, number> = {}) {
  const { scenario, board } = await loadScenario("normal");
  if (board === null) throw new Error("the scenario has a board");
  return { ...scenario, board, diodeVolts, ohms: { ...scenario.ohms, ...ohms } };
}

const GOOD = {
  rx0p: 0.451,
  rx0n: 0.448,
  rx1p: 0.455,
  rx1n: 0.452,
  rx2p: 0.446,
  rx2n: 0.453,
  rx3p: 0.449,
  rx3n: 0.45,
};

test("a group is visited hands-free in diode mode and nothing is energised; the one leg that differs is named and counts as evidence", async () => {
  const scenario = await withLanes({ ...GOOD, rx2n: 0.61 });
  await swept({ scenario, cold: true, diode: true, group: "lanes-rx" }, async (rig) => {
    const { done } = await rig.run();
    expect(rig.of("place-probe").map((each) => each.rail)).toEqual(Object.keys(GOOD));
    expect(rig.of("rail").every((each) => each.how === "contact" && each.group === "lanes-rx")).toBe(true);
    expect(done).toMatchObject({ ended: "all-visited", output: "off", neverPower: [] });
    expect(done.alike).toMatchObject({ group: "lanes-rx", quantity: "diode", word: "one-differs", goodBoards: 0 });
    expect(done.alike?.points.filter((each) => each.differs).map((each) => each.point)).toEqual(["rx2n"]);
    expect(done.alike?.because.join(" ")).toMatch(/rx2n reads 610 mV/);
    expect(done.readings?.checks).toEqual({ lanes: "one-differs" });
    // Points of a group are no readings of a rail: neither the permit nor the diagnosis may take them for one.
    expect(done.readings?.coldOhms).toEqual({});
    expect(rig.filed.some((each) => each.kind === "cold-readings")).toBe(false);
    expect(rig.bench.simulation.truth().feeds["aux"]?.switchings).toEqual([]);
    expect(rig.filed.find((each) => each.kind === "sweep-ended")).toMatchObject({ alike: { word: "one-differs" } });
  });
});

test("in ohms an open leg among others that read stands out, and good legs stay alike", async () => {
  const ohms = { rx0p: 612, rx0n: 618, rx1p: 624, rx1n: 2e8, rx2p: 620, rx2n: 615, rx3p: 626, rx3n: 621 };
  await swept({ scenario: await withLanes({}, ohms), cold: true, group: "lanes-rx" }, async (rig) => {
    const { done } = await rig.run();
    expect(done.alike?.points.filter((each) => each.differs)).toMatchObject([{ point: "rx1n", value: "open" }]);
    expect(done.alike?.word).toBe("one-differs");
  });
  await swept({ scenario: await withLanes({}, { ...ohms, rx1n: 617 }), cold: true, group: "lanes-rx" }, async (rig) => {
    expect((await rig.run()).done.alike).toMatchObject({ word: "alike", points: Array(8).fill({ differs: false }) });
  });
});

test("a sweep of the board visits no point of a group", () =>
  swept({ scenario: "normal", cold: true }, async (rig) => {
    await rig.run();
    expect(rig.of("place-probe").filter((each) => /^[rt]x\d/.test(each.rail))).toEqual([]);
  }));

test("volts over parts of known ohms become the rail's current, with the simulator's own inside the uncertainty", () =>
  swept({ scenario: "normal", across: { celsius: 20 } }, async (rig) => {
    let amps = 0;
    rig.desk.on("line", (line) => {
      if (line.event === "rail" && line.rail === "r2") amps = rig.bench.simulation.truth().feeds["aux"]?.amps ?? 0;
    });
    const { done } = await rig.run();
    const [plane, core] = done.railAmps ?? [];
    expect([plane?.rail, core?.rail]).toEqual(["12v", "core"]);
    expect(Math.abs((plane?.amps ?? 0) - amps)).toBeLessThan(plane?.expandedAmps ?? 0);
    // The scenario's core takes 12 W at 0.85 V and 1 %: shared by its two inductors.
    const watts = (await loadScenario("normal")).scenario.rails["core"]?.watts ?? 0;
    expect(Math.abs((core?.amps ?? 0) - watts / (0.85 * 1.01))).toBeLessThan(core?.expandedAmps ?? 0);
    expect(core).toMatchObject({ parts: ["l40", "l41"], missing: [] });
    expect(done.readings?.volts).not.toHaveProperty("l40");
    const started = rig.filed.find((each) => each.kind === "sweep-started");
    expect(started).toMatchObject({ points: expect.not.arrayContaining(["l40"]) });
  }));
