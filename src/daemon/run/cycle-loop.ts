import type { Plan } from "../../../shared/plan.ts";
import type { Cycle, CyclesResult } from "../../../shared/record/cycles.ts";
import type { HostWord } from "../../../shared/record/host-look.ts";
import { classInSentence } from "../../../shared/words/class-words.ts";
import { HOST_WORDS } from "../../job/report/host-text.ts";
import { startTimeMs, usualClass } from "../../verdict/cycles.ts";
import type { ActiveRun, RunResult } from "./active-run.ts";
import { type CycleStart, type CycleWish, cycleStarts } from "./cycle-starts.ts";

export interface CycleLoop {
  wish: CycleWish;
  /** The board's longest on-time, and a clock that never goes back, milliseconds. */
  maxOnMs: number;
  /** The heat a bare chip may take, joules; left out where time alone decides. */
  maxOnJoules?: number;
  nowMs: () => number;
  /** Who stopped it; null while nobody did. Looked at before each start. */
  stoppedBy: () => string | null;
  /** Waits while everything is off; false where somebody stopped it meanwhile. */
  rest: (start: CycleStart) => Promise<boolean>;
  /** One power-up to its end; null where it was stopped before it began. */
  power: () => Promise<{ run: ActiveRun; result: RunResult } | null>;
  /** The host's word in the time since then, wall clock in milliseconds; null where none came. Left out: no host is asked. */
  hostWord?: (sinceMs: number) => Promise<HostWord | null>;
  /** Told of each start that was made. */
  onCycle: (cycle: Cycle, result: RunResult) => void;
}

/** The limits on the time that the starts of this plan may heat the board. */
export const heatOf = ({ maxOnMs, maxOnJoules }: Plan): Pick<CycleLoop, "maxOnMs" | "maxOnJoules"> => ({
  maxOnMs,
  ...(maxOnJoules === undefined ? {} : { maxOnJoules }),
});

export interface CyclesEnd {
  cycles: Cycle[];
  end: Pick<CyclesResult, "endedBy" | "because">;
  /** The end of the last start; null before the first. */
  last: RunResult | null;
}

const ENDED_BY = {
  "board-stopped": "board",
  failed: "bench",
  "stopped-by-person": "person",
  "as-planned": "bench",
} as const;

/** One start after the other, until the plan is done, somebody stops it, or a start did not end as planned with everything off. */
export async function cycleLoop(of: CycleLoop): Promise<CyclesEnd> {
  const { wish, nowMs, stoppedBy } = of;
  const cycles: Cycle[] = [];
  let last: RunResult | null = null;
  const ends = (endedBy: CyclesResult["endedBy"], because: string): CyclesEnd => ({
    cycles,
    end: { endedBy, because },
    last,
  });
  const byPerson = (): CyclesEnd => ends("person", `stopped by ${stoppedBy() ?? "an off"}`);
  for (const start of cycleStarts(wish, of)) {
    if (cycles.length > 0 && !(await of.rest(start))) return byPerson();
    if (stoppedBy() !== null) return byPerson();
    const beganMs = nowMs();
    const sinceMs = Date.now();
    const powered = await of.power();
    if (powered === null) return byPerson();
    const { result } = powered;
    start.wasOn(nowMs() - beganMs, result.verdict.energyJoules ?? 0);
    const { outcome, recordTrouble } = result;
    last = result;
    const host = of.hostWord === undefined ? {} : { host: await of.hostWord(sinceMs) };
    const cycle = withHost({ ...cycleOf(start, powered, cycles), ...host });
    cycles.push(cycle);
    of.onCycle(cycle, result);
    if (outcome.ended !== "as-planned" || outcome.output !== "off") {
      const by = stoppedBy();
      const because = outcome.trip?.because ?? (by === null ? "it did not end as planned" : `stopped by ${by}`);
      return ends(ENDED_BY[outcome.ended], because);
    }
    if (recordTrouble !== null) return ends("bench", recordTrouble);
  }
  return ends("plan", "every requested start was made");
}

/** Words that are nothing against a start: the host lists it, or does not say which device it is. */
const FINE: readonly HostWord[] = ["enumerated", "cannot-tell"];

/** A start that the host did not take as it should is not clean, whatever it drew. */
function withHost(cycle: Cycle): Cycle {
  const { host } = cycle;
  if (host === undefined || host === null || FINE.includes(host)) return cycle;
  return { ...cycle, clean: false, because: [...cycle.because, `It was ${HOST_WORDS[host]}.`] };
}

function cycleOf(
  start: CycleStart,
  { run, result }: { run: ActiveRun; result: RunResult },
  before: readonly Cycle[],
): Cycle {
  const { outcome, verdict, header } = result;
  const isPlanned = outcome.ended === "as-planned" && outcome.output === "off";
  const drawn = isPlanned ? verdict.class : null;
  const usual = usualClass(before);
  const isUsual = usual === null || drawn === usual;
  return {
    cycle: before.length + 1,
    start: start.kind,
    run: header.run,
    class: drawn,
    clean: isPlanned && isUsual,
    because: isPlanned
      ? [
          ...(isUsual
            ? []
            : [
                `Its draw was "${classInSentence(drawn ?? "")}", but most starts before it were "${classInSentence(usual ?? "")}".`,
              ]),
          ...(drawn === "cannot-tell" ? ["Its draw could not be classed: a watch of 5 s or more is long enough."] : []),
        ]
      : [outcome.trip?.because ?? `it ended ${outcome.ended}, output ${outcome.output}`],
    offSeconds: start.offSeconds,
    plateauAmps: verdict.features.plateauAmps,
    chargeCoulombs: verdict.features.chargeCoulombs,
    startMs: startTimeMs(run.traces()),
  };
}
