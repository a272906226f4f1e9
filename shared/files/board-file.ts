import { z } from "zod";
import { DrawClass } from "../draw-verdict.ts";
import { atMost } from "./at-most.ts";
import { BoardGroup, BoardPart, groupProblems } from "./board-groups.ts";
import { DrawLimits } from "./draw-limits.ts";

const name = z
  .string()
  .regex(/^[A-Za-z0-9][A-Za-z0-9_.-]{0,31}$/, "a name: letters, digits, _ . or -")
  // Every object has these, so that a look-up by such a name would find something where nothing is.
  .refine((text) => !(text in {}), "a name that JavaScript objects already have; choose another one");
/** A board of a card has some ten feeds and a hundred rails; a file with more is none that a person wrote. */
const MOST_FEEDS = 64;
const MOST_RAILS = 1000;

const span = (what: string) =>
  z
    .tuple([z.number(), z.number()])
    .refine(([low, high]) => low < high, { message: `should be [low, high] ${what}, the low end first` });
/** Tolerance as shares of nominal: [−0.08, 0.05] is −8 % to +5 %. */
const Tolerance = z
  .tuple([z.number().min(-1).max(0), z.number().min(0).max(1)])
  .refine(([low, high]) => low < high, { message: "should be [low, high] as shares of nominal, with low ≤ 0 ≤ high" });

/** Highest voltage a meter's diode mode drives with (common practice, no source). */
const MOST_DIODE_VOLTS = 5;

export const BoardFeed = z.strictObject({
  order: z.number().int().min(1).max(32).optional(),
  nominalVolts: z.number().positive().max(60),
  tolerance: Tolerance.optional(),
  /** The highest current limit this feed may ever get. */
  limitAmps: z.number().positive().max(100).optional(),
  /** The limit of the first rise to nominal; at most `limitAmps`. */
  firstAmps: z.number().positive().max(100).optional(),
  maxVolts: z.number().positive().max(80).optional(),
  coldOhmsMin: z.number().min(0).optional(),
  /** Least and greatest input capacitance, farads. */
  inputFarads: span("in farads").optional(),
  /** The most a good board conducts in the hold below lock-out, amps; 30 mA where it is not said. */
  holdLowAmps: z.number().positive().max(10).optional(),
  /** Rising and falling lock-out of the converters behind this feed, volts. */
  lockOutVolts: z.tuple([z.number().positive(), z.number().positive()]).optional(),
});
export type BoardFeed = z.infer<typeof BoardFeed>;

export const IdleConditions = z.strictObject({
  host: z.enum(["none", "attached"]).optional(),
  fans: z.enum(["on", "off"]).optional(),
});

export const IdleBands = z.strictObject({
  when: IdleConditions.default({}),
  of: z.array(name).min(1).max(32),
  /** Class to [least, greatest] amps; bands may have gaps between them and must not overlap. */
  bands: z.partialRecord(DrawClass, span("in amps")),
});
export type IdleBands = z.infer<typeof IdleBands>;

export const BoardRail = z.strictObject({
  volts: z.number().min(0).max(60),
  tolerance: Tolerance.optional(),
  coldOhms: span("in ohms").optional(),
  /** Under this the rail is shorted, whatever else is known; half the least of `coldOhms` where it is not said. */
  shortOhms: z.number().positive().optional(),
  /** Rails by name, feeds as "feed:NAME". */
  needs: z.array(z.string().max(64)).max(64).default([]),
  /** True for a signal: it has a level, not a supply's tolerance, and is no rail to inject into. */
  signal: z.boolean().optional(),
  /** The part that drives a signal; left out: the board itself. A signal that a host drives is low on a good board without a host. */
  drivenBy: z.enum(["board", "host"]).optional(),
  /** The place for the probe, in words. */
  point: z.string().max(200).optional(),
  /** True: its cold ohms must be measured before the board is powered. */
  coldMandatory: z.boolean().optional(),
  /** Diode-mode value, volts, red on ground. */
  diodeVolts: span("in volts").optional(),
});
export type BoardRail = z.infer<typeof BoardRail>;

/**
 * A state of power and what brings it about: "after the power key is pressed". `up` are the rails and signals that come up with it;
 * those of the states before stay up. Points that no state names follow what they need.
 */
export const BoardState = z.strictObject({
  after: z.string().min(1).max(120),
  up: z.array(z.string()),
});
export type BoardState = z.infer<typeof BoardState>;

/** A photograph beside the board file, and where on it the points are: shares of its width and height from the upper left. */
export const BoardPhoto = z.strictObject({
  file: z
    .string()
    .regex(/^[A-Za-z0-9][A-Za-z0-9_.-]{0,79}$/, "a file name without a folder; the file lies beside the board file"),
  caption: z.string().max(200).optional(),
  points: z
    .record(z.string(), z.strictObject({ x: z.number().min(0).max(1), y: z.number().min(0).max(1) }))
    .default({}),
});
export type BoardPhoto = z.infer<typeof BoardPhoto>;

const PciId = z.string().regex(/^[0-9a-f]{4}:[0-9a-f]{4}$/, "an id such as 1234:1111, in lower case");

/** The view that a test host has of a good board of this kind. */
export const BoardHost = z.strictObject({
  /** Vendor and device that a good board is listed with; the first function's. */
  ids: z.array(PciId).min(1).max(50),
  /** The ids under which its chip is listed where no firmware was read. */
  bareIds: z.array(PciId).max(50).optional(),
  subsystem: PciId.optional(),
  /** Link of a good board in a slot that can do as much, as it is at rest. */
  speedGt: z.number().positive().max(1000).optional(),
  width: z.number().int().min(1).max(32).optional(),
  /** True: it brings an option ROM. */
  optionRom: z.boolean().optional(),
});
export type BoardHost = z.infer<typeof BoardHost>;

/** The board file: what is known of a kind of board. Everything but `name` and `feeds` may be left out. */
export const BoardFile = z
  .strictObject({
    $schema: z.string().optional(),
    version: z.literal(1),
    name: z.string().min(1).max(80),
    feeds: atMost(MOST_FEEDS, z.record(name, BoardFeed)),
    maxOnSeconds: z
      .strictObject({
        bare: z.number().positive().optional(),
        block: z.number().positive().optional(),
        cooler: z.number().positive().optional(),
      })
      .optional(),
    idleAmps: z.array(IdleBands).max(64).default([]),
    /** Numbers the draw verdict decides by, where this kind of board wants others than the shipped ones. */
    drawLimits: DrawLimits.optional(),
    rails: atMost(MOST_RAILS, z.record(name, BoardRail)).default({}),
    /** States of power in the order they are reached; left out: every rail is up once the feeds are on. */
    states: z.record(name, BoardState).optional(),
    /** "A:B" to the least healthy ohms between them. */
    coldPairs: z.record(z.string().regex(/^[^:]+:[^:]+$/, 'a pair is "A:B"'), z.number().positive()).default({}),
    /** Points that should read alike, by the group's name; only a sweep that asks for the group visits them. */
    groups: z.record(name, BoardGroup).optional(),
    /** Parts over which millivolts are read, by their name; only a sweep that asks for them visits them. */
    across: z.record(name, BoardPart).optional(),
    photos: z.array(BoardPhoto).max(20).optional(),
    host: BoardHost.optional(),
  })
  .superRefine((board, context) => {
    // Refused for its size already: what is looked at below goes from rail to rail.
    if (Object.keys(board.rails).length > MOST_RAILS) return;
    const say = (path: (string | number)[], message: string) => context.addIssue({ code: "custom", path, message });
    if (Object.keys(board.feeds).length === 0) say(["feeds"], "is empty; a board has at least one feed");
    for (const [feed, entry] of Object.entries(board.feeds)) {
      if (entry.limitAmps !== undefined && entry.firstAmps !== undefined && entry.firstAmps > entry.limitAmps) {
        say(
          ["feeds", feed, "firstAmps"],
          `is ${entry.firstAmps} A; it should be at most limitAmps, which is ${entry.limitAmps} A`,
        );
      }
      if (entry.maxVolts !== undefined && entry.maxVolts <= entry.nominalVolts) {
        say(
          ["feeds", feed, "maxVolts"],
          `is ${entry.maxVolts} V; it should be above nominalVolts, which is ${entry.nominalVolts} V`,
        );
      }
      if (entry.lockOutVolts !== undefined && entry.lockOutVolts[1] > entry.lockOutVolts[0]) {
        say(
          ["feeds", feed, "lockOutVolts"],
          "should be [rising, falling]; the rising threshold may not be below the falling one",
        );
      }
    }
    board.idleAmps.forEach((idle, index) => {
      for (const feed of idle.of) {
        if (!Object.hasOwn(board.feeds, feed))
          say(["idleAmps", index, "of"], `names ${JSON.stringify(feed)}, which is not a feed of this board`);
      }
      const bands = Object.entries(idle.bands).sort((a, b) => a[1][0] - b[1][0]);
      for (let each = 1; each < bands.length; each++) {
        const [below, above] = [bands[each - 1], bands[each]];
        if (below !== undefined && above !== undefined && above[1][0] < below[1][1]) {
          say(["idleAmps", index, "bands", above[0]], `overlaps ${below[0]}; bands may touch but not overlap`);
        }
      }
    });
    for (const [rail, entry] of Object.entries(board.rails)) {
      if (Object.hasOwn(board.feeds, rail))
        say(["rails", rail], "is also the name of a feed; a rail and a feed need different names");
      const least = entry.coldOhms?.[0] ?? 0;
      if (least < 0) say(["rails", rail, "coldOhms"], `begins at ${least} Ω; ohms cannot be negative`);
      if (entry.drivenBy !== undefined && entry.signal !== true)
        say(["rails", rail, "drivenBy"], 'is only for signals; remove it, or add "signal": true');
      const drop = entry.diodeVolts;
      if (drop !== undefined && (drop[0] < 0 || drop[1] > MOST_DIODE_VOLTS))
        say(
          ["rails", rail, "diodeVolts"],
          `is ${drop.join(" to ")} V; a meter's diode mode shows 0 to ${MOST_DIODE_VOLTS} V`,
        );
    }
    const isPoint = (point: string): boolean => Object.hasOwn(board.feeds, point) || Object.hasOwn(board.rails, point);
    for (const [state, { up }] of Object.entries(board.states ?? {})) {
      up.forEach((point, index) => {
        if (!Object.hasOwn(board.rails, point))
          say(["states", state, "up", index], `names ${JSON.stringify(point)}, which is not a rail of this board`);
      });
    }
    const { groups = {}, across = {} } = board;
    for (const { path, says } of groupProblems({ ...board, groups, across })) say(path, says);
    const isProbed = (point: string): boolean =>
      isPoint(point) || Object.hasOwn(across, point) || Object.values(groups).some((each) => each.includes(point));
    board.photos?.forEach((photo, index) => {
      for (const point of Object.keys(photo.points)) {
        if (!isProbed(point)) say(["photos", index, "points", point], "is neither a feed nor a rail of this board");
      }
    });
    const visiting = new Set<string>();
    const done = new Set<string>();
    const visit = (rail: string, trail: string[]): void => {
      if (done.has(rail)) return;
      if (visiting.has(rail)) {
        const loop = [...trail.slice(trail.indexOf(rail)), rail];
        say(["rails", rail, "needs"], `goes in a circle: ${loop.join(" needs ")}`);
        return;
      }
      visiting.add(rail);
      for (const need of board.rails[rail]?.needs ?? []) {
        if (need.startsWith("feed:")) {
          if (!Object.hasOwn(board.feeds, need.slice(5)))
            say(["rails", rail, "needs"], `names ${JSON.stringify(need)}, which is not a feed of this board`);
        } else if (!Object.hasOwn(board.rails, need)) {
          say(
            ["rails", rail, "needs"],
            `names ${JSON.stringify(need)}, which is not a rail of this board; a feed is written "feed:NAME"`,
          );
        } else visit(need, [...trail, rail]);
      }
      visiting.delete(rail);
      done.add(rail);
    };
    for (const rail of Object.keys(board.rails)) visit(rail, []);
    for (const pair of Object.keys(board.coldPairs)) {
      for (const point of pair.split(":")) {
        if (!isPoint(point)) {
          say(["coldPairs", pair], `names ${JSON.stringify(point)}, which is neither a feed nor a rail of this board`);
        }
      }
    }
  });
export type BoardFile = z.infer<typeof BoardFile>;
