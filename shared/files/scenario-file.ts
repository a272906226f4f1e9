import { z } from "zod";
import { DrawClass, OverloadKind } from "../draw-verdict.ts";
import { BoardFile, IdleConditions } from "./board-file.ts";
import { MeterTraits, SupplyTraits } from "./supply-traits.ts";

const name = z.string().regex(/^[A-Za-z0-9][A-Za-z0-9_.-]{0,31}$/, "a name: letters, digits, _ . or -");
const ms = z.number().min(0).max(3_600_000);
const volts = z.number().min(0).max(80);
const amps = z.number().min(0).max(100);
const ohms = z.number().positive().max(1e9);

/** Something that draws current from a feed. Times count from when the feed passed its rising lock-out. */
export const ScenarioLoad = z.discriminatedUnion("load", [
  z.strictObject({ load: z.literal("resistor"), ohms }),
  /** A diode path: nothing below `volts`, then `ohms` in series. Reversed leads are this. */
  z.strictObject({ load: z.literal("junction"), volts: volts.default(0.6), ohms: ohms.default(0.03) }),
  /** A shorted part that burns open once it has taken `joules`: what is left of it then is `openOhms`. */
  z.strictObject({ load: z.literal("fusing-short"), ohms, joules: z.number().positive().max(1e6), openOhms: ohms }),
  /** A part that gives way `afterMs` after the feed came up, and is a short from then on. */
  z.strictObject({ load: z.literal("late-short"), ohms, afterMs: ms, fromVolts: volts.default(5) }),
  /** The feed's plane reaches the core node through a switch that is shorted; `coreOhms` is the core's own resistance. */
  z.strictObject({ load: z.literal("shorted-high-side"), pathOhms: ohms.default(0.015), coreOhms: ohms }),
  /** Controllers, LEDs, linear regulators: a constant current above `fromVolts`. */
  z.strictObject({ load: z.literal("bias"), amps, fromVolts: volts.default(2) }),
  /** A regulated converter with its own lock-out: constant power `watts / efficiency`, more at the start. */
  z.strictObject({
    load: z.literal("converter"),
    watts: z.number().min(0).max(2000),
    efficiency: z.number().min(0.3).max(1).default(0.85),
    lockOutVolts: z.tuple([volts, volts]),
    afterMs: ms.default(2),
    softStartMs: ms.default(2),
    startWatts: z.number().min(0).max(2000).optional(),
    startMs: ms.default(0),
  }),
  z.strictObject({
    load: z.literal("fan"),
    startAmps: amps,
    startMs: ms,
    amps,
    afterMs: ms.default(0),
    fromVolts: volts.default(5),
    ratedVolts: z.number().positive().max(80).default(12),
  }),
  /** Retrying into a fault: pulses of `amps`, `onMs` of each `periodMs`; `count` pulses, then it latches off. */
  z.strictObject({
    load: z.literal("retry"),
    amps,
    periodMs: z.number().positive().max(60_000),
    onMs: z.number().positive().max(60_000),
    afterMs: ms.default(5),
    count: z.number().int().positive().optional(),
    fromVolts: volts.default(5),
  }),
  /** Leakage that feeds itself: amps·(e^(t/tau) − 1), never above `mostAmps`. */
  z.strictObject({
    load: z.literal("leak"),
    amps,
    tauMs: z.number().positive().max(3_600_000),
    mostAmps: amps,
    fromVolts: volts.default(5),
  }),
  /** A loose joint: `amps` that come and go, for times spread about `onMs` and `offMs`. */
  z.strictObject({
    load: z.literal("intermittent"),
    amps,
    onMs: z.number().positive().max(60_000),
    offMs: z.number().positive().max(60_000),
    fromVolts: volts.default(5),
  }),
]);
export type ScenarioLoad = z.infer<typeof ScenarioLoad>;

/** One powered input as it is on the bench: its leads, its capacitors, what hangs on it. */
export const ScenarioFeed = z.strictObject({
  leadOhms: z.number().min(0.001).max(10).default(0.05),
  inputFarads: z.number().min(1e-7).max(0.1),
  esrOhms: z.number().min(0.0005).max(1).default(0.01),
  /** Leakage of the cold input; its cold ohms. */
  leakOhms: ohms.default(12_000),
  /** Rising and falling lock-out of what the rails draw from this feed; default 0.62 and 0.58 of nominal. */
  lockOutVolts: z.tuple([volts, volts]).optional(),
  nominalVolts: z.number().positive().max(60),
  /** A fuse is open, or a lead is not connected: nothing reaches the board. */
  open: z.boolean().default(false),
  loads: z.array(ScenarioLoad).default([]),
});
export type ScenarioFeed = z.infer<typeof ScenarioFeed>;

export const RailFault = z.discriminatedUnion("fault", [
  /** Never comes up and draws nothing. */
  z.strictObject({ fault: z.literal("dead") }),
  /** Comes up at `volts`. */
  z.strictObject({ fault: z.literal("off-level"), volts }),
  /** Shorted: its converter retries as a "retry" load does, and the rail stays at zero. */
  z.strictObject({
    fault: z.literal("short"),
    ohms,
    amps,
    periodMs: z.number().positive().max(60_000),
    onMs: z.number().positive().max(60_000),
    count: z.number().int().positive().optional(),
  }),
]);
export type RailFault = z.infer<typeof RailFault>;

/** The behaviour of a rail of the board file; a rail not listed comes up 2 ms after what it needs and draws nothing. */
export const ScenarioRail = z.strictObject({
  /** The feed its power comes from, and how much of it. */
  from: name.optional(),
  watts: z.number().min(0).max(2000).default(0),
  efficiency: z.number().min(0.3).max(1).default(0.85),
  afterMs: ms.default(2),
  softStartMs: ms.default(2),
  startWatts: z.number().min(0).max(2000).optional(),
  startMs: ms.default(0),
  /** The distance of this board's rail from nominal, as a share. */
  off: z.number().min(-0.5).max(0.5).default(0),
  fault: RailFault.optional(),
});
export type ScenarioRail = z.infer<typeof ScenarioRail>;

const Expected = z.strictObject({
  class: DrawClass,
  sub: OverloadKind.optional(),
  /** Other classes that are as true. */
  also: z.array(DrawClass).default([]),
  /** Classes that must be among the candidates. */
  candidates: z.array(DrawClass).default([]),
  /** The rule that stops the run, where one does. */
  trip: z.string().optional(),
  why: z.string().min(1),
});

/** A simulated board on a simulated bench, and what its draw should be called. */
export const ScenarioFile = z
  .strictObject({
    $schema: z.string().optional(),
    version: z.literal(1),
    title: z.string().min(1).max(120),
    /** A board file: in full, or its path relative to this file. Left out: an unknown board. */
    board: z.union([z.string(), BoardFile]).optional(),
    conditions: IdleConditions.default({}),
    /** Cold readings typed in before the power-up, "POINT" or "A:B" to ohms; empty where the point is that they were skipped. */
    coldOhms: z.record(z.string(), ohms).default({}),
    /** The ohms that the meter finds where the model does not say: "POINT" or "A:B" to ohms. */
    ohms: z.record(z.string(), ohms).default({}),
    /** Likewise in diode mode, volts. */
    diodeVolts: z.record(z.string(), z.number().min(0).max(5)).default({}),
    feeds: z.record(name, ScenarioFeed),
    rails: z.record(name, ScenarioRail).default({}),
    /** Paths between feeds that should not be there. */
    backFeed: z
      .array(z.strictObject({ from: name, to: name, path: z.enum(["resistor", "diode"]).default("resistor"), ohms }))
      .default([]),
    /** Thermal creep of everything the rails draw: + share·(1 − e^(−t/tau)). */
    creep: z.strictObject({ share: z.number().min(0).max(1), tauMs: z.number().positive() }).optional(),
    supply: SupplyTraits.default({}),
    meter: MeterTraits.default({}),
    expected: Expected,
  })
  .superRefine((scenario, context) => {
    const feeds = Object.keys(scenario.feeds);
    const say = (path: (string | number)[], named: string) =>
      context.addIssue({
        code: "custom",
        path,
        message: `names ${JSON.stringify(named)}; it should name a feed of this scenario (${feeds.join(", ")})`,
      });
    if (feeds.length === 0) context.addIssue({ code: "custom", path: ["feeds"], message: "is empty" });
    for (const [rail, entry] of Object.entries(scenario.rails)) {
      if (entry.from !== undefined && !feeds.includes(entry.from)) say(["rails", rail, "from"], entry.from);
    }
    scenario.backFeed.forEach((each, index) => {
      for (const end of ["from", "to"] as const)
        if (!feeds.includes(each[end])) say(["backFeed", index, end], each[end]);
    });
  });
export type ScenarioFile = z.infer<typeof ScenarioFile>;
