import { z } from "zod";

const share = z.number().min(0).max(1);
const minutes = z.number().positive().max(10_000);
const risk = z.number().min(0).max(3);
const name = z.string().regex(/^[A-Za-z0-9][A-Za-z0-9_./:-]{0,31}$/, "a name: letters, digits, _ . / : or -");
const ohmsSpan = z
  .tuple([z.number().min(0), z.number().positive()])
  .refine(([low, high]) => low < high, { message: "should be [low, high] in ohms, the low end first" });

/** The error allowed in a sum of shares that should be one: figures are written with two or three digits. */
const SUM_SLACK = 0.005;

const sumsToOne = (values: readonly number[]): boolean => Math.abs(values.reduce((a, b) => a + b, 0) - 1) <= SUM_SLACK;

const shares = <N extends number>(length: N, what: string) =>
  z
    .array(share)
    .length(length)
    .refine(sumsToOne, { message: `should be ${length} shares that sum to 1: ${what}` });
const coldShares = shares(4, "short, low, normal, high");
const voltsShares = shares(5, "absent, under, normal, over, pulsing");
const answers = z.record(name, share).refine((map) => sumsToOne(Object.values(map)), {
  message: "should be shares of the answers that sum to 1",
});
export type AnswerShares = z.infer<typeof answers>;

/** A property that a board may have: a role of its points as in `at`, or "host" for one that is plugged into a host. */
const boardTrait = z
  .string()
  .regex(/^(host|(feed|rail|signal):[a-z0-9-]+)$/, '"host", or feed:, rail: or signal: and a role');

const Cost = z.strictObject({ minutes, risk });

/** One kind of fault: where it sits, how common it is, and what each kind of reading then shows. */
export const FaultRow = z.strictObject({
  id: z.string().regex(/^[A-Z][0-9]{2}$/, "a letter and two digits"),
  what: z.string().min(3).max(120),
  /** `feed:ROLE`, `rail:ROLE`, `rail:each`, `rail:other`, `signal:ROLE` or `part:NAME`. */
  at: z.string().regex(/^(feed|rail|signal|part):[a-z0-9-]+$/, "feed:, rail:, signal: or part: and a role"),
  kind: z.string().regex(/^[a-z][a-z-]{2,31}$/),
  /** Relative weight among boards that come in dead, not detected or crashing. */
  weight: z.number().min(0).max(1000),
  /** Shares of open input, dead short, overload, retrying, standby, core alive, normal. */
  draw: shares(7, "open, short, overload, retrying, standby, alive, normal"),
  /** Scope (`at`, `in`, `in:at`, `all`) to a word of `states.coldWords`. */
  cold: z.record(name, z.string()).default({}),
  /** The reading of the rail itself: a word of `states.voltsWords`, or scope (`all`, a rail role) to a word. */
  volts: z.union([z.string(), z.record(name, z.string())]).optional(),
  checks: z.record(name, answers).default({}),
  /** Power must not reach it: a short of any kind. */
  short: z.boolean().default(false),
  /** Its repair is a new chip: two independent proofs are asked for. */
  chip: z.boolean().default(false),
  /** The feed is cut off from the board. */
  opens: z.boolean().default(false),
  /** Share of such jobs with a short behind the open fuse. */
  shortBehind: share.default(0),
  /** Share of boards where what needs this rail stays down: true all, false none. A role: that rail stops, not this one. */
  stops: z.union([z.boolean(), share, z.string()]).default(true),
  /** A signal that nothing of the power tree waits for. */
  signalOnly: z.boolean().default(false),
  /** Share of boards with this fault whose chip runs; left out: it does, unless a rail stays down. */
  chipRuns: share.optional(),
  /** Placed only on boards that have one of these; left out: on every board. */
  onlyWith: z.array(boardTrait).min(1).optional(),
  /** Of `anyBoard`: thought of only at a rail that reads what it is made from. */
  whenPassedOn: z.boolean().default(false),
  /** Of `anyBoard`: also where another row of the same kind sits. */
  beside: z.boolean().default(false),
  /** Why a figure of this row is as it is, where it was changed on experience. */
  why: z.string().max(400).optional(),
});
export type FaultRow = z.infer<typeof FaultRow>;

/** A look, a test or a trial that is no plain reading of ohms or volts; its answers are words. */
export const FaultCheck = z.strictObject({
  ask: z.string().min(3).max(200),
  minutes,
  risk,
  /** The board has to be powered for it. */
  energises: z.boolean(),
  /** Shares of the answers where nothing is wrong here. */
  healthy: answers,
  /** The same where something earlier in the power tree stops. */
  behind: answers.optional(),
  /** It sees whether the chip runs: `healthy` where it does, `behind` where it does not. All such checks together are one proof. */
  sees: z.literal("chip-running").optional(),
  per: z.enum(["feed", "rail", "point"]).optional(),
  /** Offered only where a short or leak at that point is a candidate. */
  whereShort: z.boolean().default(false),
  /** Only a host can answer it: not offered where none is attached. */
  needsHost: z.boolean().default(false),
  /** Offered once each of these checks has one of these answers; a check that the board does not have counts for nothing. */
  after: z.record(name, z.array(name).min(1)).default({}),
  /** Offered only on boards that have one of these; left out: wherever a fault of the board shows in it. */
  onlyWith: z.array(boardTrait).min(1).optional(),
  /** The role of the signal it looks at: it says nothing where that signal is not driven. */
  signal: name.optional(),
  /** Why a figure of this check is as it is, where it was changed on experience. */
  why: z.string().max(400).optional(),
});
export type FaultCheck = z.infer<typeof FaultCheck>;

const Role = z.strictObject({
  role: name,
  names: z.array(z.string().min(1)).min(1),
  volts: z.tuple([z.number(), z.number()]),
  coldOhms: ohmsSpan,
  shortOhms: z.number().positive(),
});

/** Priors, signatures and costs of the fault finder: all of it data, none of it code. */
export const FaultData = z
  .strictObject({
    $schema: z.string().optional(),
    version: z.literal(1),
    name: z.string().min(1).max(80),
    source: z.string().min(1),
    /** The sum of the weights of `rows`. */
    weightTotal: z.number().positive(),
    /** Share of readings that are slips: wrong point, bad contact, misread. */
    slip: z.number().min(0).max(0.5),
    /** Share of boards whose chip runs: where nothing is wrong with what it needs, and where a rail stays down. */
    chipRuns: z.strictObject({ healthy: share, behind: share }).default({ healthy: 0.97, behind: 0.03 }),
    /** The number of confirmed jobs that the shipped priors count as. */
    pseudoCount: z.number().positive(),
    /** The minutes that one step of risk is worth. */
    riskMinutes: z.number().min(0),
    /** Nothing that energises is proposed while a short is likelier than this. */
    shortGate: share,
    /** A point that goes on reading low is cleared only while a short there is no likelier than this. */
    lowGate: share.default(0.001),
    /**
     * Before the first power-up a point where a short is likelier than this is read again while it can be. A short that was powered costs
     * 50 to 200 times the minute of a second look (common practice, no source), which alone would ask for 0.005; slips of several points of
     * one board add up, and the shipped figure is one at which none of the 769 shorted boards of docs/diagnosis-study.md was energised.
     */
    secondLook: share,
    /** Share of jobs with a second fault that has nothing to do with the first. */
    independentPair: share,
    states: z.strictObject({
      coldDefault: coldShares,
      pairDefault: coldShares,
      openFeed: coldShares,
      coldWords: z.record(name, coldShares),
      /** The reading that a slip of the probe shows, cold and in volts; left out: any state alike. */
      coldSlip: coldShares.default([0.25, 0.25, 0.25, 0.25]),
      voltsSlip: shares(4, "absent, under, normal, over").default([0.25, 0.25, 0.25, 0.25]),
      /** Why a figure of this part is as it is, by its name. */
      why: z.record(z.string(), z.string().max(400)).default({}),
      voltsDefault: voltsShares,
      voltsBehind: voltsShares,
      voltsWords: z.record(name, voltsShares),
    }),
    costs: z.strictObject({
      coldOhms: Cost,
      coldPair: Cost,
      fourWire: Cost,
      lowProbe: Cost,
      powerUp: Cost,
      volts: Cost,
      signal: Cost,
    }),
    roles: z.array(Role),
    signals: z.array(z.strictObject({ role: name, names: z.array(z.string().min(1)).min(1) })),
    feedOhms: z.strictObject({
      "12": z.strictObject({ coldOhms: ohmsSpan, shortOhms: z.number().positive() }),
      logic: z.strictObject({ coldOhms: ohmsSpan, shortOhms: z.number().positive() }),
    }),
    /** Least healthy ohms of a pair that the board file gives none for, and what counts as short. */
    pairOhms: z.number().positive(),
    pairShortOhms: z.number().positive(),
    checks: z.record(name, FaultCheck),
    rows: z.array(FaultRow).min(1),
    /** Rows for what the others leave over on a board; their weight is for each place. */
    anyBoard: z.array(FaultRow),
    pairs: z.array(z.strictObject({ first: z.string(), second: z.string(), share })),
  })
  .superRefine((data, context) => {
    const say = (path: (string | number)[], message: string) => context.addIssue({ code: "custom", path, message });
    const total = data.rows.reduce((sum, row) => sum + row.weight, 0);
    if (Math.abs(total - data.weightTotal) > 1e-6 * data.weightTotal) {
      say(["weightTotal"], `is ${data.weightTotal}; the weights of rows sum to ${Number(total.toPrecision(8))}`);
    }
    const ids = new Set<string>();
    for (const list of ["rows", "anyBoard"] as const) {
      data[list].forEach((row, index) => {
        if (ids.has(row.id)) say([list, index, "id"], `repeats ${JSON.stringify(row.id)}; an id is given once`);
        ids.add(row.id);
        for (const [scope, word] of Object.entries(row.cold)) {
          if (!(word in data.states.coldWords))
            say([list, index, "cold", scope], `names ${JSON.stringify(word)}, which is not a word of states.coldWords`);
        }
        const volts = typeof row.volts === "object" ? row.volts : row.volts === undefined ? {} : { at: row.volts };
        for (const word of Object.values(volts)) {
          if (!(word in data.states.voltsWords))
            say([list, index, "volts"], `names ${JSON.stringify(word)}, which is not a word of states.voltsWords`);
        }
        for (const [check, given] of Object.entries(row.checks)) {
          const known = data.checks[check];
          if (known === undefined) {
            say([list, index, "checks", check], "is not an entry of checks");
            continue;
          }
          for (const answer of Object.keys(given)) {
            if (!(answer in known.healthy))
              say(
                [list, index, "checks", check, answer],
                `is not an answer of that check; its answers are ${Object.keys(known.healthy).join(", ")}`,
              );
          }
        }
      });
    }
    data.pairs.forEach((pair, index) => {
      for (const end of ["first", "second"] as const) {
        if (!ids.has(pair[end])) say(["pairs", index, end], `names ${JSON.stringify(pair[end])}, which is not a row`);
      }
    });
  });
export type FaultData = z.infer<typeof FaultData>;

/** A shop's confirmed causes: how many finished jobs each row turned out to be. Only a repair that worked confirms one. */
export const ShopCauses = z.strictObject({
  $schema: z.string().optional(),
  version: z.literal(1),
  confirmed: z.record(
    z.string().regex(/^[A-Z][0-9]{2}$/, "the id of a fault, like F16"),
    z.number().int().min(0).max(1e6),
  ),
});
export type ShopCauses = z.infer<typeof ShopCauses>;
