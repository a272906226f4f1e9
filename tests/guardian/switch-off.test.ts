import { describe, expect, it } from "vitest";
import type { SupplyTraits } from "../../shared/files/supply-traits.ts";
import type { ArmedSupply } from "../../shared/guardian.ts";
import { type SwitchedOff, switchOffInTries } from "../../src/guardian/switch-off.ts";
import { connectInstrument } from "../../src/instrument/connect-instrument.ts";
import type { Link } from "../../src/link/link.ts";
import { openLink } from "../../src/link/open-link.ts";
import { type Simulation, startSimulation } from "../../src/simulator/start-simulation.ts";
import { WireQuiet } from "../bench/wire-quiet.ts";
import { HandClock } from "../hand-clock.ts";
import { driverLike, drivers, type RigDialect } from "../instrument/bench-rig.ts";

/** A current flows on for a moment after the off, and is looked at again. */
const TRIES = 20;
/** The answer under way when the program was killed, which a supply ends before it looks at what came next. */
const LATENCY_MS = 8;

interface Case {
  dialect?: RigDialect;
  transport?: "tcp" | "pty";
  traits?: SupplyTraits;
  gapMs?: number;
  /** Done to the bytes the guardian is armed with, and to the bench, once the output is on. */
  before?: (sim: Simulation, armed: ArmedSupply) => void;
}

interface Ended {
  result: SwitchedOff;
  /** Simulated milliseconds from the guardian's first move until the output was off; null: it still is on. */
  offAfterMs: number | null;
}

/** A supply with its output on, whose program was killed in the middle of a question, and the guardian's cut of it. */
async function guardianCuts(options: Case): Promise<Ended> {
  const { dialect = "numbered", transport = "tcp", traits = {}, gapMs = 0 } = options;
  const clock = new HandClock();
  const sim = await startSimulation({
    scenario: "normal",
    dialect,
    transport,
    clock,
    traits: { latencyMs: LATENCY_MS, ...traits },
  });
  const quiet = new WireQuiet(() => sim.bytes);
  const links: Link[] = [];
  const open = quiet.counting(async (each: Parameters<typeof openLink>[0]) => {
    const link = await openLink(each);
    links.push(link);
    return link;
  });
  const until = async <T>(promise: Promise<T>): Promise<T> => {
    let settled = false;
    promise
      .catch(() => {})
      .finally(() => {
        settled = true;
      });
    while (!settled) {
      await quiet.settled();
      if (!settled) clock.step();
    }
    return promise;
  };
  try {
    const feed = sim.benchFile.feeds["aux"];
    if (feed === undefined || "manual" in feed) throw new Error("the scenario has no feed aux");
    const entry = sim.benchFile.instruments[feed.supply];
    if (entry === undefined) throw new Error("no entry");
    const like = drivers.find((each) => each.name === `${dialect}-supply`);
    const slow =
      gapMs === 0 || like === undefined ? [] : [driverLike(like.name, { name: "slow", wire: { ...like.wire, gapMs } })];
    const supply = await until(
      connectInstrument({
        name: feed.supply,
        entry: { ...entry, ...(slow.length > 0 ? { driver: "slow" } : {}) },
        drivers: [...drivers, ...slow],
        clock,
        openLink: open,
      }),
    );
    if (supply.kind !== "supply") throw new Error("not a supply");
    await until(supply.configure(feed.channel, { volts: 12, limitAmps: 3 }));
    await until(supply.switchOn(feed.channel, { connection: supply.connection, deadlineMs: clock.nowMs() + 1000 }));
    await until(new Promise<void>((resolve) => void clock.after(400, resolve)));
    expect(sim.truth().feeds["aux"]?.output).toBe("on");
    const armed: ArmedSupply = {
      name: supply.name,
      address: supply.address,
      serial: { ...supply.serial },
      ...supply.offBytes([feed.channel]),
    };
    options.before?.(sim, armed);
    supply.read(feed.channel).catch(() => {});
    await new Promise((resolve) => setImmediate(resolve));
    for (const link of links.splice(0)) await link.close();
    const startedMs = clock.nowMs();
    const result = await until(switchOffInTries(armed, clock, TRIES, open));
    const off = sim.truth().feeds["aux"]?.switchings.find((each) => each.output === "off" && each.atMs >= startedMs);
    return { result, offAfterMs: off === undefined ? null : off.atMs - startedMs };
  } finally {
    await until(sim.close());
  }
}

const DIALECTS = ["numbered", "selection", "channel-list"] as const;

describe("the guardian's cut", () => {
  it.each(DIALECTS.flatMap((dialect) => (["tcp", "pty"] as const).map((transport) => ({ dialect, transport }))))(
    "is proved in the $dialect dialect over $transport",
    async (each) => {
      const { result, offAfterMs } = await guardianCuts(each);
      expect(result).toMatchObject({ output: "off" });
      expect(offAfterMs).toBeLessThanOrEqual(LATENCY_MS);
    },
  );

  it.each(DIALECTS)("is proved by an instrument that echoes, in the %s dialect", async (dialect) => {
    const { result, offAfterMs } = await guardianCuts({ dialect, transport: "pty", traits: { echo: true } });
    expect(result).toMatchObject({ output: "off" });
    expect(offAfterMs).toBeLessThanOrEqual(LATENCY_MS);
  });

  it("takes no longer than two pauses where what comes too soon is dropped, though a question had just been asked", async () => {
    const { result, offAfterMs } = await guardianCuts({ transport: "pty", traits: { gapMs: 100 }, gapMs: 100 });
    expect(result).toMatchObject({ output: "off" });
    expect(offAfterMs).toBeLessThanOrEqual(240);
  });

  it("reaches a supply that a person took back to local", async () => {
    const { result } = await guardianCuts({ transport: "pty", traits: { needsRemote: true } });
    expect(result).toMatchObject({ output: "off" });
  });

  it("waits as long for an answer as the instrument takes", async () => {
    const { result } = await guardianCuts({
      before: (sim, armed) => {
        armed.replyMs = 2000;
        sim.misbehave.replies(armed.name, "all", { fault: "delay", ms: 1200 });
      },
    });
    expect(result).toMatchObject({ output: "off" });
  });

  it("is not proved while a current flows, with a decimal comma too", async () => {
    const { result } = await guardianCuts({
      before: (sim, { name }) =>
        void sim.misbehave.replies(name, "all", {
          fault: "rewrite",
          as: (text) => (/^[-+]?\d+\.\d+$/.test(text) ? "0,25" : text),
        }),
    });
    expect(result).toMatchObject({ output: "unknown" });
    expect(result.detail).toContain("0,25");
  });

  it("is unknown where the output stays on, and where another instrument answers", async () => {
    const stuck = await guardianCuts({ before: (sim, { name }) => sim.misbehave.stayOn(name, true) });
    expect(stuck.result).toMatchObject({ output: "unknown" });
    expect(stuck.offAfterMs).toBeNull();
    const other = await guardianCuts({
      before: (_, armed) => {
        armed.identity = "Tern Street Electronics,OTHER,1,1";
      },
    });
    expect(other.result).toMatchObject({ output: "unknown" });
    // Off is written before anybody is asked who they are.
    expect(other.offAfterMs).toBeLessThanOrEqual(LATENCY_MS);
  });
});
