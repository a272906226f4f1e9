import { onTestFinished } from "vitest";
import { type Simulation, type SimulationOptions, startSimulation } from "../../src/simulator/start-simulation.ts";
import { HandClock } from "../hand-clock.ts";
import { type LineClient, openLineClient } from "./line-client.ts";

export interface Simulated {
  simulation: Simulation;
  clock: HandClock;
  /** A connection to an instrument; closed after the test. */
  client(instrument: string): Promise<LineClient>;
}

/**
 * A simulation on a hand-set clock, over a socket and with numbered headers unless told otherwise; ends with the test. Each test
 * is told so here: a hook of this module would belong to the first file alone that loads it, where files share a process.
 */
export async function simulated(options: Partial<SimulationOptions> = {}): Promise<Simulated> {
  const clock = new HandClock();
  const simulation = await startSimulation({
    scenario: "single-feed",
    dialect: "numbered",
    transport: "tcp",
    clock,
    ...options,
  });
  onTestFinished(() => simulation.close());
  return {
    simulation,
    clock,
    client: async (instrument) => {
      const entry = simulation.benchFile.instruments[instrument];
      if (entry === undefined) throw new Error(`no instrument ${instrument}`);
      const opened = await openLineClient(entry.address);
      onTestFinished(() => opened.close());
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
