import { z } from "zod";

const ms = z.number().min(0).max(60_000);
const share = z.number().min(0).max(1);

/** The behaviour of a simulated supply; everything left out has the default of `src/simulator/supply-defaults.ts`. */
export const SupplyTraits = z.strictObject({
  maker: z
    .string()
    .regex(/^[^,;\r\n]+$/)
    .exactOptional(),
  model: z
    .string()
    .regex(/^[^,;\r\n]+$/)
    .exactOptional(),
  serialNumber: z
    .string()
    .regex(/^[^,;\r\n]*$/)
    .exactOptional(),
  version: z
    .string()
    .regex(/^[^,;\r\n]*$/)
    .exactOptional(),
  // the output stage
  maxVolts: z.number().positive().max(80).exactOptional(),
  maxAmps: z.number().positive().max(100).exactOptional(),
  /** Time from 0 to 12 V, unloaded; the slew is 12 V over this. */
  riseMs: z.number().positive().max(5000).exactOptional(),
  fallMs: z.number().positive().max(5000).exactOptional(),
  outputFarads: z.number().min(1e-6).max(0.01).exactOptional(),
  outputOhms: z.number().min(1e-4).max(1).exactOptional(),
  /** Time until the limit takes over; until then the current may reach `surgeAmps`. */
  limitDelayMs: ms.exactOptional(),
  surgeAmps: z.number().positive().max(200).exactOptional(),
  /** The load that stays across the terminals with the output off. */
  bleedOhms: z.number().min(10).max(1e6).exactOptional(),
  /** Down-programmer: how much the output can sink, and for how long after an off. */
  sinkAmps: z.number().min(0).max(10).exactOptional(),
  offSinkMs: ms.exactOptional(),
  // reading back
  stepVolts: z.number().min(1e-6).max(0.1).exactOptional(),
  stepAmps: z.number().min(1e-6).max(0.1).exactOptional(),
  refreshMs: ms.exactOptional(),
  /** Each refresh comes early or late by up to this share of the interval. */
  refreshJitter: share.exactOptional(),
  filterMs: ms.exactOptional(),
  noiseVolts: z.number().min(0).max(1).exactOptional(),
  noiseAmps: z.number().min(0).max(1).exactOptional(),
  /** True values are multiplied by 1 + gain and moved by offset before they are read. */
  gainVolts: z.number().min(-0.1).max(0.1).exactOptional(),
  gainAmps: z.number().min(-0.1).max(0.1).exactOptional(),
  offsetVolts: z.number().min(-1).max(1).exactOptional(),
  offsetAmps: z.number().min(-1).max(1).exactOptional(),
  /** Volts and amps come from alternate refreshes, one interval apart. */
  staggered: z.boolean().exactOptional(),
  // the wire
  latencyMs: ms.exactOptional(),
  latencyJitterMs: ms.exactOptional(),
  /** Lines that come sooner than this after the last one are ignored without a word. */
  gapMs: ms.exactOptional(),
  echo: z.boolean().exactOptional(),
  terminator: z.enum(["\n", "\r\n", "\r", "\n\r"]).exactOptional(),
  booleans: z.enum(["digit", "word"]).exactOptional(),
  numbers: z.enum(["fixed", "scientific"]).exactOptional(),
  needsRemote: z.boolean().exactOptional(),
  errorQueue: z.number().int().min(1).max(100).exactOptional(),
  /** A query that comes before the last answer has left drops that answer and files −410. */
  interrupts: z.boolean().exactOptional(),
  /** A second connection is closed at once while the first lives. */
  singleConnection: z.boolean().exactOptional(),
  /** One query line may hold several queries, joined by a semicolon. */
  joins: z.boolean().exactOptional(),
  // protections and status
  overVoltage: z.boolean().exactOptional(),
  overVoltageDelayMs: ms.exactOptional(),
  overCurrent: z.boolean().exactOptional(),
  overCurrentDelayMs: ms.exactOptional(),
  /** Clearing a protection puts the output back to what it was before. */
  clearRestores: z.boolean().exactOptional(),
  powerOnOutput: z.enum(["off", "on", "last"]).exactOptional(),
  conditionStatus: z.boolean().exactOptional(),
  watchdog: z.boolean().exactOptional(),
  ratings: z.boolean().exactOptional(),
});
export type SupplyTraits = z.infer<typeof SupplyTraits>;

/** The behaviour of a simulated meter. */
export const MeterTraits = z.strictObject({
  maker: z
    .string()
    .regex(/^[^,;\r\n]+$/)
    .exactOptional(),
  model: z
    .string()
    .regex(/^[^,;\r\n]+$/)
    .exactOptional(),
  serialNumber: z
    .string()
    .regex(/^[^,;\r\n]*$/)
    .exactOptional(),
  version: z
    .string()
    .regex(/^[^,;\r\n]*$/)
    .exactOptional(),
  /** Time one reading takes. */
  readMs: ms.exactOptional(),
  readJitterMs: ms.exactOptional(),
  noiseVolts: z.number().min(0).max(1).exactOptional(),
  /** Share of an ohms reading. */
  noiseOhmsShare: share.exactOptional(),
  /** Resistance of the test leads, seen by two-wire ohms. */
  leadOhms: z.number().min(0).max(5).exactOptional(),
  /** Time constant of a reading after the probe touched. */
  settleMs: ms.exactOptional(),
  terminator: z.enum(["\n", "\r\n", "\r", "\n\r"]).exactOptional(),
  echo: z.boolean().exactOptional(),
  gapMs: ms.exactOptional(),
  errorQueue: z.number().int().min(1).max(100).exactOptional(),
  /** A scanner: channel number to the point it is wired to. */
  scanner: z.record(z.string().regex(/^\d{1,4}$/), z.string()).exactOptional(),
});
export type MeterTraits = z.infer<typeof MeterTraits>;
