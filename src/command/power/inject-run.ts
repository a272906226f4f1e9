import type { InjectLevel, RunOutcome } from "../../../shared/plan.ts";
import { sayJoules } from "../../../shared/words/amounts.ts";
import { cautionsBefore, INJECTION_CAUTIONS } from "../../daemon/run/cautions.ts";
import type { PreparedRun } from "../../daemon/run/prepare-run.ts";
import { levelText } from "../../daemon/run/task-lines.ts";
import { wishOf } from "../../daemon/run/task-wishes.ts";
import { shortId } from "../../job/store/uuid-v7.ts";
import type { InjectionSide } from "../../plan/permit/permit-injection.ts";
import { print, printDocument, say } from "../text/people.ts";
import { type EndedTask, runTask } from "./task-run.ts";
import type { BenchOptions } from "./with-bench.ts";

export interface InjectOptions extends BenchOptions {
  rail: string;
  feed: string;
  side?: InjectionSide;
  cap?: number;
  hold?: number;
  alcohol?: boolean;
}

/** Does one injection from the command line; answers with the exit code. */
export async function inject(options: InjectOptions): Promise<number> {
  const { rail, feed, side = null, cap, hold, alcohol } = options;
  let told = 0;
  const tell = (levels: readonly InjectLevel[]): boolean => {
    const fresh = levels.slice(told);
    told = levels.length;
    for (const level of fresh) {
      if (options.json === true) printDocument({ event: "level", rail, ...level });
      else say(`  ${levelText(level)}`);
    }
    return fresh.length > 0;
  };
  return await runTask(options, {
    purpose: "inject",
    wish: wishOf(
      {
        task: "inject",
        rail,
        feed,
        side,
        ...(cap === undefined ? {} : { capVolts: cap }),
        ...(hold === undefined ? {} : { levelSeconds: hold }),
        ...(alcohol === true ? { alcohol } : {}),
      },
      { keepOn: options.keepOn === true, watchSeconds: options.watch ?? null },
    ),
    cautions: INJECTION_CAUTIONS,
    question,
    // A level is told when it is over: everything is off then.
    onNews: (run, energised) => energised.length === 0 && tell(run.outcome.levels ?? []),
    raiseText: ({ fromAmps, toAmps, because }) => {
      say("Cautions before you go on:");
      for (const caution of cautionsBefore(INJECTION_CAUTIONS, true)) say(`  - ${caution}`);
      return `${because}. Look at the board first. Inject ${toAmps} A instead of ${fromAmps} A?`;
    },
    more: (ended) => {
      if (ended !== null) tell(ended.result.outcome.levels ?? []);
      return injection(options, ended);
    },
    print: (document) => {
      print(`Injection into ${rail} through ${feed}:`);
      for (const sentence of document.because) print(`  ${sentence}`);
      for (const level of document.levels) print(`  ${levelText(level)}`);
      print(`  ${sayJoules(document.energyJoules)} in all. Output: ${document.output}`);
      if (document.job !== null) print(`  Filed with job ${shortId(document.job)}`);
    },
  });
}

const question = ({ plan }: PreparedRun): string => {
  const { rail = "", capVolts = 0, levelsAmps = [], levelMs = 0 } = plan.inject ?? {};
  return `Inject into ${rail} through ${plan.feeds[0]?.feed}: at most ${capVolts} V and ${levelsAmps[0]} A for ${levelMs / 1000} s?`;
};

/** The part of an injection's document that stands in place of a draw, and beside it. */
function injection({ rail, feed }: InjectOptions, ended: EndedTask | null) {
  const { outcome = null, header = null } = ended?.result ?? {};
  const levels = outcome?.levels ?? [];
  return {
    rail,
    feed,
    capVolts: header?.plan.inject?.capVolts ?? null,
    levels,
    cleared: outcome?.trip?.rule === "cleared",
    ...(outcome === null
      ? {}
      : {
          class: "cannot-tell" as const,
          candidates: [],
          because: becauseOf(outcome, ended?.stoppedBy ?? null),
          energyJoules: levels.reduce((sum, each) => sum + each.joules, 0),
        }),
  };
}

function becauseOf({ trip, note, ended }: RunOutcome, stoppedBy: string | null): string[] {
  if (trip !== null) return [trip.because];
  if (note !== undefined) return [note];
  if (stoppedBy !== null) return [`stopped by ${stoppedBy}`];
  return [
    ended === "as-planned"
      ? "the level was held for its full time, and no higher level was requested"
      : "it did not begin",
  ];
}
