/** A person's wishes for a run of many starts. */
export interface CycleWish {
  /** So many cold starts, then so many warm ones; with `forSeconds` again and again. */
  cold?: number;
  warm?: number;
  forSeconds?: number;
  /** The time it is off before a start of each kind, seconds. */
  coldOff?: number;
  warmOff?: number;
}

/** The next start, and how long everything is to be off before it. */
export interface CycleStart {
  kind: "cold" | "warm";
  offSeconds: number;
  /** Told how long the start and its watch took, and what heat went into the board, joules. */
  wasOn(ms: number, joules: number): void;
}

/** By default: long enough for capacitors and thermistors to be as after a night, and as when a switch is flicked (common practice, no source). */
export const DEFAULT_OFF_SECONDS = { cold: 120, warm: 3 };
/** After its longest on-time a board cools so many times as long, as in a sweep. */
const COOLING = 4;

/**
 * The starts one after the other, each with its off time. Where the starts since the last long pause would together go over the board's
 * longest on-time or its heat, the pause is four times what they took. `nowMs` is a clock that never goes back.
 */
export function* cycleStarts(
  { cold = 0, warm = 0, forSeconds, coldOff, warmOff }: CycleWish,
  {
    maxOnMs,
    maxOnJoules = Number.POSITIVE_INFINITY,
    nowMs,
  }: { maxOnMs: number; maxOnJoules?: number; nowMs: () => number },
): Generator<CycleStart> {
  const offSeconds = { cold: coldOff ?? DEFAULT_OFF_SECONDS.cold, warm: warmOff ?? DEFAULT_OFF_SECONDS.warm };
  const pattern = [...Array<"cold">(cold).fill("cold"), ...Array<"warm">(warm).fill("warm")];
  const untilMs = forSeconds === undefined ? null : nowMs() + 1000 * forSeconds;
  let heatMs = 0;
  let lastMs = 0;
  let joules = 0;
  let lastJoules = 0;
  for (let index = 0; ; index++) {
    const kind = untilMs === null ? pattern[index] : pattern[index % pattern.length];
    if (kind === undefined) return;
    const mustCool = heatMs > 0 && (heatMs + lastMs > maxOnMs || joules + lastJoules > maxOnJoules);
    const pause = Math.max(offSeconds[kind], mustCool ? (COOLING * heatMs) / 1000 : 0);
    if (untilMs !== null && index > 0 && nowMs() + 1000 * pause + lastMs > untilMs) return;
    // A pause as long as cooling takes is cooling, whatever it was for.
    if (pause >= (COOLING * heatMs) / 1000) heatMs = joules = 0;
    yield {
      kind,
      offSeconds: index === 0 ? 0 : pause,
      wasOn: (ms, tookJoules) => {
        lastMs = ms;
        heatMs += ms;
        lastJoules = tookJoules;
        joules += tookJoules;
      },
    };
  }
}
