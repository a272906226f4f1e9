import type { DrawTrace } from "../../shared/draw-input.ts";
import type { DrawClass } from "../../shared/draw-verdict.ts";
import { StageName } from "../../shared/plan.ts";
import type { Cycle, CyclesResult } from "../../shared/record/cycles.ts";
import { at } from "../analysis/at.ts";
import { shareBelow } from "../analysis/clopper-pearson.ts";
import { medianOf } from "../analysis/quantile.ts";
import { settlingMs } from "../analysis/settling.ts";
import { univariateOf } from "../analysis/univariate.ts";

const RISE = StageName.options.indexOf("rise");
const WATCH = StageName.options.indexOf("watch");
/** A draw has settled once it stays this near to its level: start-up patterns are larger, ripple is smaller (common practice, no source). */
const SETTLED_SHARE = 0.1;

/** Time from the rise of the feed that draws most until its current stays at its level, ms; null where that is not in the trace. */
export function startTimeMs(traces: readonly DrawTrace[]): number | null {
  let most = { level: 0, ms: null as number | null };
  for (const trace of traces) {
    const from = trace.stage?.indexOf(RISE) ?? -1;
    const watched = trace.stage?.indexOf(WATCH) ?? -1;
    const to = (trace.stage?.lastIndexOf(WATCH) ?? -1) + 1;
    if (from < 0 || watched < 0 || to - watched < 3) continue;
    const level = medianOf(trace.amps.subarray(Math.floor((watched + to) / 2), to));
    if (!(level > most.level)) continue;
    const ms = settlingMs(trace.atMs.subarray(from, to), trace.amps.subarray(from, to), level, SETTLED_SHARE);
    most = { level, ms };
  }
  return most.ms;
}

/** The class most cycles had; of equally many, the one that was seen first. null where none was judged. */
export function usualClass(cycles: readonly Pick<Cycle, "class">[]): DrawClass | null {
  const counts = new Map<DrawClass, number>();
  for (const each of cycles) if (each.class !== null) counts.set(each.class, (counts.get(each.class) ?? 0) + 1);
  return [...counts].sort((a, b) => b[1] - a[1])[0]?.[0] ?? null;
}

/** The cycles with those not clean whose draw was of another class than most, and what all of them show together. */
export function cyclesResult(
  started: readonly Cycle[],
  end: Pick<CyclesResult, "endedBy" | "because">,
): { cycles: Cycle[]; result: CyclesResult } {
  const usual = usualClass(started);
  const cycles = started.map((each) => {
    const isOther = each.class !== usual;
    return isOther && each.clean
      ? { ...each, clean: false, because: [`Its draw was ${each.class ?? "not judged"}; most starts were ${usual}.`] }
      : each;
  });
  const clean = cycles.filter((each) => each.clean).length;
  return {
    cycles,
    result: {
      cycles: cycles.length,
      clean,
      failureShareBelow: cycles.length === 0 ? null : shareBelow(cycles.length - clean, cycles.length),
      plateauAmps: spreadOf(cycles.map((each) => each.plateauAmps)),
      chargeCoulombs: spreadOf(cycles.map((each) => each.chargeCoulombs)),
      startMs: spreadOf(cycles.map((each) => each.startMs)),
      ...hostCounts(cycles),
      ...end,
    },
  };
}

/** The count of each word of the host. */
function hostCounts(cycles: readonly Cycle[]): Pick<CyclesResult, "host"> {
  const words = cycles.flatMap((each) => (each.host === undefined ? [] : [each.host ?? "no look"]));
  const host: Record<string, number> = {};
  for (const word of words) host[word] = (host[word] ?? 0) + 1;
  return words.length === 0 ? {} : { host };
}

function spreadOf(values: readonly (number | null)[]): CyclesResult["plateauAmps"] {
  const known = values.filter((each) => each !== null).sort((a, b) => a - b);
  if (known.length === 0) return null;
  const { n, mean, stdDev } = univariateOf(known);
  return { n, mean, stdDev: n < 2 ? null : stdDev, least: at(known, 0), most: at(known, n - 1) };
}
