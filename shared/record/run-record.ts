import { z } from "zod";
import { DrawBaseline } from "../draw-baseline.ts";
import { DrawVerdict } from "../draw-verdict.ts";
import { Accuracy, BenchFile } from "../files/bench-file.ts";
import { BoardFile } from "../files/board-file.ts";
import { ShopSettings } from "../files/shop-settings.ts";
import { RoundTrip } from "../ipc.ts";
import { Permit, RunConditions } from "../permit.ts";
import { Plan, RunOutcome } from "../plan.ts";

/** An instrument as it answered at the start of a run; `accuracy` is what the run's figures are judged with, null unknown. */
export const RunInstrument = z.strictObject({
  name: z.string(),
  kind: z.enum(["supply", "meter", "recorder"]),
  address: z.string(),
  identity: z.string(),
  serialNumber: z.string().nullable(),
  driver: z.string(),
  /** The file of a driver that did not come with the program; left out: it did. */
  driverFile: z.string().exactOptional(),
  accuracy: Accuracy.nullable(),
  roundTrip: RoundTrip,
});
export type RunInstrument = z.infer<typeof RunInstrument>;

/** The kind of run; all of them are a plan under the machine, and only this tells them apart. */
export const RunPurpose = z.enum(["powerup", "sweep", "soak", "margin", "inject", "cycle", "leads"]);
export type RunPurpose = z.infer<typeof RunPurpose>;

/**
 * All that a run was started with. Together with its events and its capture it is enough to run the machine and the
 * verdict again. `startedAt` is wall clock, the only one of the run; every other time is milliseconds since then.
 */
export const RunHeader = z.strictObject({
  run: z.uuid(),
  capture: z.uuid(),
  purpose: RunPurpose,
  startedAt: z.iso.datetime({ precision: 3 }),
  program: z.string(),
  /** The scheduling that the process that cuts got, in words; left out by those that did not ask it. */
  scheduling: z.string().optional(),
  plan: Plan,
  /** null: no board file was given and the shipped defaults were used. */
  board: BoardFile.nullable(),
  bench: BenchFile,
  instruments: z.array(RunInstrument),
  conditions: RunConditions,
  permit: Permit,
  /** The values that the verdict was held against beside the board file, so that it can be come to again; left out: nothing. */
  baseline: DrawBaseline.optional(),
  shop: ShopSettings.optional(),
});
export type RunHeader = z.infer<typeof RunHeader>;

/** The end of a run; `verdict` is null where its purpose has none or nothing was read. */
export const RunEnd = z.strictObject({
  run: z.uuid(),
  capture: z.uuid().nullable(),
  endedAtMs: z.number(),
  outcome: RunOutcome,
  verdict: DrawVerdict.nullable(),
  energyJoules: z.number().nullable(),
  roundTrip: z.record(z.string(), RoundTrip),
});
export type RunEnd = z.infer<typeof RunEnd>;
