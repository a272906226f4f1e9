import { BenchError } from "../../../shared/bench-error.ts";
import type { RunPurpose } from "../../../shared/run-record.ts";
import type { TaskWish } from "../../../shared/wire-request.ts";
import type { RunRequest } from "./run-request.ts";

/** The watch of a margin run's own power-up, seconds. */
const MARGIN_WATCH_SECONDS = 3;

/** The wishes of a kind of run for its preparation. */
export type PreparedWish = Pick<RunRequest, "keepOn" | "watchSeconds" | "task">;

/**
 * The wishes of a kind of run for its preparation, from the command line and from the page alike; null is a first power-up and no more.
 * Throws BenchError "bad-input" where a run that always ends off is to be held on.
 */
export function wishOf(
  task: TaskWish | null,
  { keepOn, watchSeconds }: { keepOn: boolean; watchSeconds: number | null },
): PreparedWish {
  // The object may be a whole request: nothing of it but these two may pass.
  const asked = { keepOn, watchSeconds };
  switch (task?.task) {
    case undefined:
      return asked;
    case "soak":
      return { keepOn: asked.keepOn, watchSeconds: 60 * task.minutes, task: { task: "soak" } };
    case "margin":
      mustEndOff(asked.keepOn, "margin");
      return { keepOn: false, watchSeconds: asked.watchSeconds ?? MARGIN_WATCH_SECONDS, task };
    case "inject":
      mustEndOff(asked.keepOn, "an injection");
      return { keepOn: false, watchSeconds: asked.watchSeconds, task };
    case "cycle":
      mustEndOff(asked.keepOn, "cycle");
      return asked;
  }
}

/** Such a run is never held on. Throws BenchError "bad-input". */
export function mustEndOff(keepOn: boolean | undefined, what: string): void {
  if (keepOn === true)
    throw new BenchError(
      "bad-input",
      `Cannot keep the output on after ${what}: it always ends with the output off; nothing was touched`,
    );
}

export const purposeOf = (task: TaskWish | null): RunPurpose => task?.task ?? "powerup";
