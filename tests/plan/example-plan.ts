import { BenchFile } from "../../shared/files/bench-file.ts";
import { BoardFile } from "../../shared/files/board-file.ts";
import type { ColdReadings } from "../../shared/permit.ts";
import type { Plan } from "../../shared/plan.ts";
import { compileInjection, type InjectionWish } from "../../src/plan/compile/compile-injection.ts";
import { compilePlan, type PlanOptions, type SupplyCapabilities } from "../../src/plan/compile/compile-plan.ts";

/** A bench with the three feeds of the Kestrel K2 on one supply. */
export const kestrelBench = BenchFile.parse({
  version: 1,
  instruments: { psu: { kind: "supply", address: "TCPIP0::192.0.2.20::5025::SOCKET" } },
  feeds: {
    slot3v3: { supply: "psu", channel: 3, leadOhms: 0.05, sense: "local" },
    slot12: { supply: "psu", channel: 2, leadOhms: 0.05, sense: "local" },
    aux: { supply: "psu", channel: 1, leadOhms: 0.05, sense: "local" },
  },
});

export const kestrelBoard = BoardFile.parse({
  version: 1,
  name: "Kestrel K2",
  feeds: {
    slot3v3: { order: 1, nominalVolts: 3.3, tolerance: [-0.09, 0.09], limitAmps: 1, maxVolts: 3.7 },
    slot12: { order: 2, nominalVolts: 12, tolerance: [-0.08, 0.05], limitAmps: 2, maxVolts: 13.2 },
    aux: {
      order: 3,
      nominalVolts: 12,
      tolerance: [-0.08, 0.05],
      limitAmps: 5,
      firstAmps: 3,
      maxVolts: 13.2,
      coldOhmsMin: 300,
      inputFarads: [0.0005, 0.004],
      lockOutVolts: [7.5, 7],
    },
  },
  maxOnSeconds: { bare: 15, block: 120, cooler: 1800 },
  rails: { core: { volts: 0.85, coldOhms: [0.1, 5], needs: ["feed:aux"] } },
  coldPairs: { "aux:core": 100 },
});

export const kestrelCold: ColdReadings = { slot3v3: 900, slot12: 8000, aux: 12_400, "aux:core": 3100 };

export const quickSupply: SupplyCapabilities = {
  stepVolts: 0.001,
  stepAmps: 0.001,
  offsetAmps: 0.002,
  hasOverVoltage: true,
  hasOverCurrent: true,
  hasWatchdog: true,
  riseMs: 10,
  channels: Object.fromEntries(
    [1, 2, 3].map((channel) => [channel, { maxVolts: 32, maxAmps: 10, readIntervalMs: 10 }]),
  ),
};

export interface PlanChanges {
  options?: Partial<PlanOptions>;
  cold?: ColdReadings;
  supply?: Partial<SupplyCapabilities>;
  readIntervalMs?: number;
}

/** The Kestrel K2's plan on that bench, a three second watch; throws with the problems where there are any. */
export function kestrelPlan({
  options = {},
  cold = kestrelCold,
  supply = {},
  readIntervalMs = 10,
}: PlanChanges = {}): Plan {
  const channels = Object.fromEntries(
    [1, 2, 3].map((channel) => [channel, { maxVolts: 32, maxAmps: 10, readIntervalMs }]),
  );
  const compiled = compilePlan({
    bench: kestrelBench,
    board: kestrelBoard,
    capabilities: { psu: { ...quickSupply, channels, ...supply } },
    coldOhms: cold,
    options: { cooler: "block", keepOn: false, watchSeconds: 3, ...options },
  });
  if ("problems" in compiled) throw new Error(JSON.stringify(compiled.problems));
  return compiled.plan;
}

/** An injection into the core of the Kestrel K2 through the leads of its auxiliary feed. */
export function coreInjection(wish: Partial<InjectionWish> = {}, cold: ColdReadings = {}): Plan {
  const made = compileInjection({
    bench: kestrelBench,
    board: kestrelBoard,
    capabilities: { psu: quickSupply },
    coldOhms: cold,
    wish: { rail: "core", feed: "aux", ...wish },
  });
  if ("problems" in made) throw new Error(JSON.stringify(made.problems));
  return made.plan;
}
