import { isAbsolute } from "node:path";
import { BenchError, quoted } from "../../../shared/bench-error.ts";
import { pciAddressIn } from "../../../shared/record/pci-address.ts";
import type { RunPurpose } from "../../../shared/record/run-record.ts";
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
      mustTellLook(task);
      return asked;
  }
}

/** A page has no folder of its own: a file beside which it is meant would be sought wherever the daemon was started. */
function mustTellLook({ hostLook, port }: Pick<Extract<TaskWish, { task: "cycle" }>, "hostLook" | "port">): void {
  if (hostLook !== undefined && !isAbsolute(hostLook))
    throw new BenchError(
      "bad-input",
      `Cannot read the host's looks from ${quoted(hostLook)}: give the whole path of the file on this machine; nothing was touched`,
    );
  if (port !== undefined && pciAddressIn(port) === null)
    throw new BenchError(
      "bad-input",
      `${quoted(port)} is no port; write it as 00:01.0 or 0000:00:01.0; nothing was touched`,
    );
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
