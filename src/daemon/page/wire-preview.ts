import type { WirePreview } from "../../../shared/wire.ts";
import type { TaskWish } from "../../../shared/wire-request.ts";
import { sayAmps, sayVolts } from "../../../shared/words/amounts.ts";
import { CAUTIONS, CYCLE_CAUTIONS, INJECTION_CAUTIONS, PROBE_CAUTIONS } from "../run/cautions.ts";
import { DEFAULT_OFF_SECONDS } from "../run/cycle-starts.ts";
import type { PreparedRun } from "../run/prepare-run.ts";
import { railsToWatch } from "../run/rail-watch.ts";

/** The feeds that would be energised, as the page shows it before a start. */
export const wirePreview = ({ permit, plan, warnings, request }: PreparedRun, task: TaskWish | null): WirePreview => ({
  permit,
  feeds: plan.feeds.map((each) => ({
    feed: each.feed,
    volts: each.nominalVolts,
    limitAmps: each.nominal.limitAmps,
    highestAmps: each.limitAmps,
  })),
  ...(task === null ? {} : { does: doesOf(task, { plan, request }) }),
  cautions: [...ownCautions(task), ...CAUTIONS, ...warnings],
});

function ownCautions(task: TaskWish | null): readonly string[] {
  if (task === null) return PROBE_CAUTIONS.map((each) => `For a sweep: ${each}`);
  if (task.task === "inject") return INJECTION_CAUTIONS;
  if (task.task === "margin" && task.rail !== undefined) return PROBE_CAUTIONS;
  return task.task === "cycle" ? CYCLE_CAUTIONS : [];
}

/** The work beside a first power-up, with the numbers of the plan that was made. */
function doesOf(task: TaskWish, { plan, request }: Pick<PreparedRun, "plan" | "request">): string[] {
  const { margin, inject, watch } = plan;
  switch (task.task) {
    case "soak":
      return [`The board stays on and is watched for ${task.minutes} min, with every trip active.`];
    case "margin":
      return margin === undefined
        ? []
        : [
            `After ${watch.seconds} s the feed ${margin.feed} is stepped to ${margin.stepVolts.map((each) => sayVolts(each)).join(", ")}; then everything goes off.`,
            railsInWords(task.rail, request),
          ];
    case "inject":
      return inject === undefined
        ? []
        : [
            `At most ${sayVolts(inject.capVolts)} into ${inject.rail}, ${inject.levelMs / 1000} s at ${sayAmps(inject.levelsAmps[0] ?? 0)}. A level of ${inject.levelsAmps
              .slice(1)
              .map((each) => sayAmps(each))
              .join(", ")} comes only after your yes; everything is off until then.`,
            `It ends at ${inject.boardWatts} W or ${inject.boardJoules} J on the board, and when the short opens.`,
          ];
    case "cycle": {
      const { cold = 0, warm = 0, forSeconds, coldOff, warmOff } = task;
      return [
        `The board is switched on again and again without you: ${cold} cold and ${warm} warm starts${forSeconds === undefined ? "" : `, in turn for ${Math.round(forSeconds / 60)} min`}, off for ${coldOff ?? DEFAULT_OFF_SECONDS.cold} s before a cold one and ${warmOff ?? DEFAULT_OFF_SECONDS.warm} s before a warm one.`,
        "Any off ends it; closing this page ends it too.",
      ];
    }
  }
}

/** Which rails are read at the steps of a margin run, or why none is. */
function railsInWords(rail: string | undefined, { bench, board }: PreparedRun["request"]): string {
  const names = railsToWatch(bench, board, rail).map((each) => each.name);
  if (rail !== undefined) return `The meter reads ${rail} at each step; keep its probe there.`;
  if (names.length > 0) return `The meter reads ${names.join(", ")} at each step, by its scanner.`;
  const why =
    Object.keys(board?.rails ?? {}).length === 0 ? "the board file names none" : "none was chosen for the probe";
  return `No rail is read meanwhile: ${why}. The run shows the feed's own volts and amps.`;
}
