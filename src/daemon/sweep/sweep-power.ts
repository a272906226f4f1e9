import type { DrawVerdict } from "../../../shared/draw-verdict.ts";
import type { MeterReading, MeterReadSetting } from "../../../shared/meter-reading.ts";
import type { RunOutcome } from "../../../shared/plan.ts";
import type { RunVerdict } from "../../../shared/words/nothing-learned.ts";
import type { BenchProcess } from "../process/bench-process.ts";
import type { ActiveRun } from "../run/active-run.ts";

/** The end of a power-up of a sweep. */
export interface PoweredEnd {
  outcome: RunOutcome;
  verdict: RunVerdict;
  recordTrouble: string | null;
}

/** A power-up that is to hold while the rails are probed. */
export interface PoweredRun {
  run: string;
  /** The verdict on the draw once the outputs are held on; null where the run ended before that. */
  held: Promise<DrawVerdict | null>;
  ended: Promise<PoweredEnd>;
  /** Files what a person did to the board meanwhile; false where it could not be. */
  mark(text: string, state: string | null): boolean;
}

/** The requests of a sweep to a bench. */
export interface SweepPower {
  /** Powers up by the plan, its stages and its trips, and holds. Throws BenchError where that is refused. */
  powerUp(): Promise<PoweredRun>;
  /** Ends a hold; the run then ends by itself. */
  letGo(): Promise<void>;
  /** Off, at once. */
  cut(by: string): void;
  /** Reads the meter with this setting from now on. Throws BenchError where it cannot. */
  measure(setting: MeterReadSetting): Promise<void>;
  rest(): Promise<void>;
  onReadings(listener: (readings: MeterReading[]) => void): () => void;
}

/** The bench process as a sweep uses it; `start` begins a run of the plan that was permitted, each time a new one. */
export function sweepBench(client: BenchProcess, start: () => Promise<ActiveRun>): SweepPower {
  return {
    powerUp: async () => {
      const run = await start();
      return {
        run: run.header.run,
        held: new Promise((resolve) => {
          run.on("holding", (verdict) => resolve(verdict));
          void run.done.then(() => resolve(null));
        }),
        ended: run.done,
        mark: (text, state) => run.mark(text, state),
      };
    },
    letGo: () => client.stop("the end of the sweep"),
    cut: (by) => void client.cut(by),
    measure: (setting) => client.readMeter(setting),
    rest: () => client.restMeter(),
    onReadings: (listener) => {
      const take = ({ readings }: { readings: MeterReading[] }): void => listener(readings);
      client.on("meter-readings", take);
      return () => void client.off("meter-readings", take);
    },
  };
}
