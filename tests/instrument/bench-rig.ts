import { BenchError } from "../../shared/bench-error.ts";
import type { InstrumentEntry } from "../../shared/files/bench-file.ts";
import type { DriverFile } from "../../shared/files/driver-file.ts";
import type { MeterTraits, SupplyTraits } from "../../shared/files/supply-traits.ts";
import { connectInstrument } from "../../src/instrument/connect-instrument.ts";
import { loadDrivers } from "../../src/instrument/load-drivers.ts";
import type { Meter } from "../../src/instrument/meter.ts";
import type { Supply } from "../../src/instrument/supply.ts";
import { openLink } from "../../src/link/open-link.ts";
import { type Simulation, startSimulation } from "../../src/simulator/start-simulation.ts";
import { realClock } from "../../src/system/real-clock.ts";

export type RigDialect = "plain" | "selection" | "channel-list" | "numbered";

export const drivers: readonly DriverFile[] = (await loadDrivers(null)).drivers;

/** A driver of those shipped, changed. */
export function driverLike(name: string, change: Partial<DriverFile>): DriverFile {
  const like = drivers.find((each) => each.name === name);
  if (like === undefined) throw new Error(`there is no driver ${name}`);
  return { ...like, ...change } as DriverFile;
}

export interface Rig {
  sim: Simulation;
  supply: Supply;
  /** The supply's name on the simulated bench, and the channel its feed "aux" is on. */
  name: string;
  channel: number;
  /** Lines the supply ran since this was last asked, queries too. */
  commands(): string[];
  guard(): { connection: number; deadlineMs: number };
  close(): Promise<void>;
}

/** A connected supply of the simulated Kestrel K2 bench, on its "aux" feed. */
export async function supplyRig(
  options: {
    dialect?: RigDialect;
    transport?: "tcp" | "pty";
    scenario?: string;
    traits?: SupplyTraits;
    entry?: Partial<InstrumentEntry>;
    drivers?: readonly DriverFile[];
    before?: (sim: Simulation, name: string) => void;
  } = {},
): Promise<Rig> {
  const { dialect = "numbered", transport = "tcp", scenario = "normal", traits = {} } = options;
  const sim = await startSimulation({ scenario, dialect, transport, clock: realClock, traits });
  const feed = sim.benchFile.feeds["aux"];
  if (feed === undefined || "manual" in feed) throw new Error("the scenario has no feed aux");
  const { supply: name, channel } = feed;
  options.before?.(sim, name);
  try {
    const entry = sim.benchFile.instruments[name];
    if (entry === undefined) throw new Error("no entry");
    const supply = await connectInstrument({
      name,
      entry: { ...entry, ...options.entry },
      drivers: options.drivers ?? drivers,
      clock: realClock,
      openLink,
    });
    if (supply.kind !== "supply") throw new Error("not a supply");
    let seen = 0;
    return {
      sim,
      supply,
      name,
      channel,
      commands: () => {
        const lines = sim.history().filter((each) => each.instrument === name && each.kind === "command");
        const fresh = lines.slice(seen).map((each) => each.text);
        seen = lines.length;
        return fresh;
      },
      guard: () => ({ connection: supply.connection, deadlineMs: realClock.nowMs() + 1000 }),
      close: async () => {
        await supply.close();
        await sim.close();
      },
    };
  } catch (cause) {
    await sim.close();
    throw cause;
  }
}

/** The connected meter of the simulated bench. */
export async function meterRig(
  options: {
    transport?: "tcp" | "pty";
    traits?: MeterTraits;
    entry?: Partial<InstrumentEntry>;
    drivers?: readonly DriverFile[];
  } = {},
): Promise<{ sim: Simulation; meter: Meter; close(): Promise<void> }> {
  const sim = await startSimulation({
    scenario: "normal",
    dialect: "numbered",
    transport: options.transport ?? "tcp",
    clock: realClock,
    ...(options.traits === undefined ? {} : { meterTraits: options.traits }),
  });
  const entry = sim.benchFile.instruments["dmm"];
  if (entry === undefined) throw new Error("no meter");
  const meter = await connectInstrument({
    name: "dmm",
    entry: { ...entry, ...options.entry },
    drivers: options.drivers ?? drivers,
    clock: realClock,
    openLink,
  });
  if (meter.kind !== "meter") throw new Error("not a meter");
  return {
    sim,
    meter,
    close: async () => {
      await meter.close();
      await sim.close();
    },
  };
}

/** Answers with the BenchError that a promise rejects with; throws where it rejects with another error, or not at all. */
export const errorOf = (promise: Promise<unknown>): Promise<BenchError> =>
  promise.then(
    () => {
      throw new Error("no error came");
    },
    (cause: unknown) => {
      if (cause instanceof BenchError) return cause;
      throw cause;
    },
  );

/** Whether the feed "aux" was ever switched off. */
export const wentOff = (sim: Simulation): boolean => sim.history().some((each) => each.text.includes("aux output off"));

/** A setting that the simulated board takes. */
export const SETTING_12V = { volts: 12, limitAmps: 3, overVolts: 13.2, overCurrentOn: false };
