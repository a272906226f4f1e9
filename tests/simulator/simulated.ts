import { afterEach } from "vitest";
import { type Simulation, type SimulationOptions, startSimulation } from "../../src/simulator/start-simulation.ts";
import { HandClock } from "../hand-clock.ts";
import { type LineClient, openLineClient } from "./line-client.ts";

export interface Simulated {
  simulation: Simulation;
  clock: HandClock;
  /** A connection to an instrument; closed after the test. */
  client(instrument: string): Promise<LineClient>;
}

const open: { close(): Promise<void> }[] = [];
afterEach(async () => {
  for (const each of open.splice(0).reverse()) await each.close();
});

/** A simulation on a hand-set clock, over a socket and with numbered headers unless told otherwise; ends with the test. */
export async function simulated(options: Partial<SimulationOptions> = {}): Promise<Simulated> {
  const clock = new HandClock();
  const simulation = await startSimulation({
    scenario: "single-feed",
    dialect: "numbered",
    transport: "tcp",
    clock,
    ...options,
  });
  open.push(simulation);
  return {
    simulation,
    clock,
    client: async (instrument) => {
      const entry = simulation.benchFile.instruments[instrument];
      if (entry === undefined) throw new Error(`no instrument ${instrument}`);
      const opened = await openLineClient(entry.address);
      open.push(opened);
      return opened;
    },
  };
}

/** Lets input and output go on until `test` holds. */
export const until = (test: () => boolean): Promise<void> =>
  new Promise((resolve) => {
    const look = (): void => void (test() ? resolve() : setImmediate(look));
    look();
  });
