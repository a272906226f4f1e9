import { execFile } from "node:child_process";
import { mkdtemp, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { promisify } from "node:util";
import { expect, test } from "vitest";
import { BoardFile } from "../../shared/files/board-file.ts";
import { ScenarioFile } from "../../shared/files/scenario-file.ts";
import { supplyDefaults } from "../../src/simulator/supply-defaults.ts";
import { simulated } from "../simulator/simulated.ts";

interface FeedCase {
  setVolts: number;
  leadOhms: number;
  leakOhms: number;
  /** Loads across the feed's plane, each a resistor. */
  loads: number[];
}

interface TreeCase {
  feeds: Record<string, FeedCase>;
  /** Resistors between two planes: what a shorted regulator or a pull-up does. */
  paths: { from: string; to: string; ohms: number }[];
  /** Regulated rails: what each draws from its feed as power, so that it draws more where the feed sags. */
  rails: Record<string, { from: string; volts: number; watts: number; efficiency: number }>;
}

const cases: [string, TreeCase][] = [
  [
    "two planes of 12 V and one of 3.3 V with resistors only, joined by a path of 220 Ω",
    {
      feeds: {
        aux: { setVolts: 12, leadOhms: 0.04, leakOhms: 12_400, loads: [10, 47] },
        slot12: { setVolts: 12, leadOhms: 0.12, leakOhms: 15_000, loads: [22] },
        slot3v3: { setVolts: 3.3, leadOhms: 0.06, leakOhms: 2400, loads: [33] },
      },
      paths: [{ from: "aux", to: "slot3v3", ohms: 220 }],
      rails: {},
    },
  ],
  [
    "a shorted pass device of 4.7 Ω that feeds most of the loaded 3.3 V plane, through thin leads",
    {
      feeds: {
        aux: { setVolts: 12, leadOhms: 0.3, leakOhms: 10_000, loads: [100] },
        slot3v3: { setVolts: 3.3, leadOhms: 0.25, leakOhms: 2400, loads: [1.2] },
      },
      paths: [{ from: "aux", to: "slot3v3", ohms: 4.7 }],
      rails: {},
    },
  ],
  [
    "rails of constant power behind resistive leads: the sag makes them draw more",
    {
      feeds: {
        aux: { setVolts: 12, leadOhms: 0.25, leakOhms: 12_400, loads: [120] },
        slot12: { setVolts: 11.04, leadOhms: 0.15, leakOhms: 15_000, loads: [470] },
        slot3v3: { setVolts: 3.3, leadOhms: 0.1, leakOhms: 2400, loads: [68] },
      },
      paths: [],
      rails: {
        core: { from: "aux", volts: 0.85, watts: 15.5, efficiency: 0.85 },
        soc: { from: "aux", volts: 0.9, watts: 2.2, efficiency: 0.9 },
        mem: { from: "slot12", volts: 1.35, watts: 3.8, efficiency: 0.88 },
        io: { from: "slot3v3", volts: 1.8, watts: 0.9, efficiency: 0.8 },
      },
    },
  ],
];

/** The same circuit for ngspice: each feed a source behind its output and leads, the planes its nodes. */
function netlist({ feeds, paths, rails }: TreeCase): string {
  const parts = Object.entries(feeds).flatMap(([feed, { setVolts, leadOhms, leakOhms, loads }]) => [
    `V${feed} s_${feed} 0 ${setVolts}`,
    `ROUT${feed} s_${feed} t_${feed} ${supplyDefaults.outputOhms}`,
    `VLEAD${feed} t_${feed} w_${feed} 0`,
    `RLEAD${feed} w_${feed} ${feed} ${leadOhms}`,
    `RLEAK${feed} ${feed} 0 ${leakOhms}`,
    ...loads.map((ohms, index) => `RLOAD${feed}${index} ${feed} 0 ${ohms}`),
  ]);
  const names = Object.keys(feeds);
  return [
    "operating point",
    ...parts,
    ...paths.map(({ from, to, ohms }, index) => `RPATH${index} ${from} ${to} ${ohms}`),
    ...Object.entries(rails).map(
      ([rail, { from, watts, efficiency }]) => `B${rail} ${from} 0 I = ${watts / efficiency}/max(V(${from}), 1)`,
    ),
    ".control",
    "set numdgt=9",
    "op",
    ...names.flatMap((feed) => [`print v(${feed})`, `print i(vlead${feed})`]),
    "quit",
    ".endc",
    ".end",
    "",
  ].join("\n");
}

async function operatingPoint(tree: TreeCase): Promise<Record<string, { volts: number; amps: number }>> {
  const folder = await mkdtemp(join(tmpdir(), "firstamp-op-"));
  try {
    const file = join(folder, "tree.cir");
    await writeFile(file, netlist(tree));
    const { stdout } = await promisify(execFile)("ngspice", ["-b", file]);
    const value = (name: string): number => {
      const found = new RegExp(`^${name.replace(/[()]/g, "\\$&")} = (\\S+)`, "im").exec(stdout)?.[1];
      if (found === undefined) throw new Error(`ngspice gave no ${name}: ${stdout}`);
      return Number(found);
    };
    return Object.fromEntries(
      Object.keys(tree.feeds).map((feed) => [feed, { volts: value(`v(${feed})`), amps: value(`i(vlead${feed})`) }]),
    );
  } finally {
    await rm(folder, { recursive: true, force: true });
  }
}

/** The board file and the scenario of the same tree: each feed's plane is a rail of its own, as boards name it. */
function scenarioOf({ feeds, paths, rails }: TreeCase): ScenarioFile {
  const board = BoardFile.parse({
    version: 1,
    name: "Resistive tree",
    feeds: Object.fromEntries(
      Object.entries(feeds).map(([feed, each]) => [
        feed,
        { nominalVolts: each.setVolts, lockOutVolts: [each.setVolts / 2, each.setVolts / 3] },
      ]),
    ),
    rails: {
      ...Object.fromEntries(
        Object.entries(feeds).map(([feed, each]) => [
          `plane-${feed}`,
          { volts: each.setVolts, needs: [`feed:${feed}`] },
        ]),
      ),
      ...Object.fromEntries(
        Object.entries(rails).map(([rail, { from, volts }]) => [rail, { volts, needs: [`plane-${from}`] }]),
      ),
    },
  });
  return ScenarioFile.parse({
    version: 1,
    title: "resistive tree",
    board,
    feeds: Object.fromEntries(
      Object.entries(feeds).map(([feed, { setVolts, leadOhms, leakOhms, loads }]) => [
        feed,
        {
          nominalVolts: setVolts,
          leadOhms,
          leakOhms,
          inputFarads: 1e-4,
          esrOhms: 0.01,
          loads: loads.map((ohms) => ({ load: "resistor", ohms })),
        },
      ]),
    ),
    rails: Object.fromEntries(
      Object.entries(rails).map(([rail, { from, watts, efficiency }]) => [rail, { from, watts, efficiency }]),
    ),
    backFeed: paths,
    expected: { class: "cannot-tell", why: "no verdict is asked of it" },
  });
}

test.each(cases)("%s: planes and currents are those of ngspice", async (_, tree) => {
  const spice = await operatingPoint(tree);
  const { simulation, clock } = await simulated({ scenario: scenarioOf(tree) });
  for (const [feed, { setVolts }] of Object.entries(tree.feeds)) {
    simulation.misbehave.frontPanel(feed, { volts: setVolts, limitAmps: 10, output: "on" });
  }
  clock.advance(1500);
  const { feeds } = simulation.truth();
  for (const [feed, { volts, amps }] of Object.entries(spice)) {
    // Within 1 mV and 1 mA: the meters of a bench see no more.
    expect(Math.abs((simulation.voltsAt(feed) ?? Number.NaN) - volts)).toBeLessThan(0.001);
    expect(Math.abs((simulation.voltsAt(`plane-${feed}`) ?? Number.NaN) - volts)).toBeLessThan(0.001);
    expect(Math.abs((feeds[feed]?.amps ?? Number.NaN) - amps)).toBeLessThan(0.001);
  }
  for (const [rail, { volts }] of Object.entries(tree.rails)) expect(simulation.voltsAt(rail)).toBeCloseTo(volts, 6);
});
