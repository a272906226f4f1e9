import { z } from "zod";
import { ColdReadings, RunConditions } from "./permit.ts";

const short = z.string().max(200);

/** The longest board file that a page may send, characters. */
export const MOST_BOARD_TEXT = 256 * 1024;

/** The facts that a person states of a board before it is powered, each by a tick of its own. */
export const Statement = z.enum(["polarityChecked", "commonReturn", "sidebandStrapped", "pairsUnplugged"]);
export type Statement = z.infer<typeof Statement>;

const starts = z.number().int().min(0).max(10_000);
const offSeconds = z.number().min(1).max(86_400).exactOptional();
/** The work in place of a first power-up, or after it. */
export const TaskWish = z.discriminatedUnion("task", [
  /** Held at nominal for so long, with every trip in force. */
  z.strictObject({
    task: z.literal("soak"),
    minutes: z
      .number()
      .gt(0)
      .max(24 * 60),
  }),
  /** One feed stepped within its tolerance; left out: the one with the highest limit, five set-points. */
  z.strictObject({
    task: z.literal("margin"),
    feed: short.exactOptional(),
    steps: z.number().int().min(3).max(11).exactOptional(),
    /** The rail under the meter's probe, read at each step; left out: those that its scanner is wired to. */
    rail: short.exactOptional(),
  }),
  /** A small voltage into a shorted rail; the cap is only ever lowered. */
  z.strictObject({
    task: z.literal("inject"),
    rail: short,
    feed: short,
    /** Side of the rail's inductor that the leads are on; null: not said. */
    side: z.enum(["after", "before", "none"]).nullable(),
    capVolts: z.number().min(0.05).max(3).exactOptional(),
    levelSeconds: z.number().min(10).max(20).exactOptional(),
    alcohol: z.boolean().exactOptional(),
  }),
  /** So many starts after a long pause, then so many after a short one; with `forSeconds` again and again. */
  z
    .strictObject({
      task: z.literal("cycle"),
      cold: starts.exactOptional(),
      warm: starts.exactOptional(),
      forSeconds: z
        .number()
        .gt(0)
        .max(7 * 86_400)
        .exactOptional(),
      coldOff: offSeconds,
      warmOff: offSeconds,
      /** Whole path of a file on the bench's own machine that the test host writes anew at each of its looks. */
      hostLook: z.string().trim().min(1).max(1000).exactOptional(),
      /** The port the board is in, as Linux names it. */
      port: z.string().max(20).exactOptional(),
    })
    .refine(({ cold = 0, warm = 0 }) => cold + warm > 0, { message: "does not ask for a start" }),
]);
export type TaskWish = z.infer<typeof TaskWish>;

/** A person's wishes for a power-up; the options of the command line as a document. */
export const RunRequest = z.strictObject({
  /** The text of a board file; null takes the daemon's own board. */
  board: z.string().max(MOST_BOARD_TEXT).nullable(),
  coldOhms: ColdReadings.refine((cold) => Object.keys(cold).length <= 64, { message: "holds at most 64 readings" }),
  conditions: RunConditions,
  /** When, by wall clock, and of which job each statement was made; one of another job, or from before a repair or the last run, is refused. */
  stated: z.partialRecord(Statement, z.strictObject({ at: z.iso.datetime(), job: short.nullable() })).exactOptional(),
  /** Waives the named conditions of the permit that were not done, and no others. */
  waiver: z.strictObject({ reason: z.string().trim().min(3).max(500), items: z.array(short).max(64) }).nullable(),
  watchSeconds: z.number().min(1).max(600).nullable(),
  keepOn: z.boolean(),
  job: short.nullable(),
  /** Left out: a first power-up and no more. */
  task: TaskWish.exactOptional(),
  /** Points of `coldOhms` that were read with four wires, or as volts at a known current. */
  fourWire: z.array(short).max(64).exactOptional(),
  /** The temperature of the board, degrees Celsius; cold readings of another warmth count no more. */
  boardCelsius: z.number().min(-40).max(150).nullable().exactOptional(),
});
export type RunRequest = z.infer<typeof RunRequest>;

/** The feed, volts and limit the person was shown, as in the preview; the daemon refuses a start whose plan says otherwise. */
export const Confirmed = z
  .array(z.strictObject({ feed: z.string().max(32), volts: z.number(), limitAmps: z.number() }))
  .min(1)
  .max(32);

/**
 * The way a sweep is measured: with diode mode where the board file has a value, with four wires, from which ground, of which group only, and under
 * power also over the parts of known ohms.
 */
export const SweepHow = z.strictObject({
  diode: z.boolean(),
  fourWire: z.boolean(),
  blackAt: z.enum(["board", "supply"]),
  group: short.exactOptional(),
  /** Temperature of those parts, degrees Celsius; null not known. */
  across: z.strictObject({ celsius: z.number().min(-40).max(150).nullable() }).exactOptional(),
});
export type SweepHow = z.infer<typeof SweepHow>;
