import { z } from "zod";
import { DrawClass } from "./draw-verdict.ts";

/** Long enough for any text of a bench, short enough that a page never breaks by it. */
const short = z.string().max(200);
const figure = z.number().nullable();
const output = z.enum(["on", "off", "unknown"]);
/** Wall clock of the bench that sent it, milliseconds since 1970; how old a value is, is counted by the reader. */
const sentAtMs = z.number().min(0).max(1e15);

/** The state of a bench: retained by the broker, and "gone" by the broker's own word when the bench is no longer there. */
export const LiveState = z.discriminatedUnion("is", [
  z.strictObject({
    is: z.literal("here"),
    sentAtMs,
    /** `on` where any output is on, `unknown` where one could not be read. */
    output,
    job: short.nullable(),
    stage: short.nullable(),
    /** A sentence of what it waits for; null where nothing is under way. */
    waitingFor: short.nullable(),
  }),
  z.strictObject({ is: z.literal("gone") }),
]);
export type LiveState = z.infer<typeof LiveState>;

/** The figures of the feeds, at most ten times a second; not kept by the broker. */
export const LiveFeeds = z.strictObject({
  sentAtMs,
  feeds: z.array(z.strictObject({ feed: short, output, volts: figure, amps: figure, ageMs: figure })).max(32),
});
export type LiveFeeds = z.infer<typeof LiveFeeds>;

/** The run under way, or the last one. */
export const LiveRun = z.strictObject({
  sentAtMs,
  run: short,
  job: short.nullable(),
  stage: short,
  energised: z.array(short).max(32),
  ended: short.nullable(),
});
export type LiveRun = z.infer<typeof LiveRun>;

/** The last verdict. */
export const LiveVerdict = z.strictObject({ sentAtMs, run: short, job: short.nullable(), class: DrawClass });
export type LiveVerdict = z.infer<typeof LiveVerdict>;

/** The messages that are published under `firstamp/SHOP/BENCH/KIND`, by kind. All of it is for looking: nothing a bench does depends on it. */
export const ShopLive = z.strictObject({ state: LiveState, feeds: LiveFeeds, run: LiveRun, verdict: LiveVerdict });
export type ShopLive = z.infer<typeof ShopLive>;
export type LiveKind = keyof ShopLive;

export const LIVE_KINDS: readonly LiveKind[] = ["state", "feeds", "run", "verdict"];
