/** The bench process: owns every link, runs the plan, decides trips. Started by the daemon, talks to it alone. */

import os from "node:os";
import type { FromBench } from "../../shared/ipc.ts";
import { openLink } from "../link/open-link.ts";
import { thisPlatform } from "../system/platform.ts";
import { processorTime } from "../system/processor-time.ts";
import { realClock } from "../system/real-clock.ts";
import { refuseDebugger } from "../system/refuse-debugger.ts";
import { Bench } from "./bench.ts";
import { raisePriority } from "./raise-priority.ts";
import { startGuardian } from "./start-guardian.ts";

/** Above it only the guardian, which must get its turn while this process hangs. */
const LEVEL = 10;

/** Uptime counts a suspension on Linux, the monotonic clock does not; elsewhere uptime follows the clock on the wall. */
const sleptMs = (): number => 1000 * os.uptime() - realClock.nowMs();

refuseDebugger();
const bench = new Bench({
  clock: realClock,
  openLink,
  send: (message: FromBench) => void process.send?.(message, undefined, {}, () => {}),
  startGuardian: (armDirectory) => startGuardian(armDirectory, realClock),
  scheduling: raisePriority(process.pid, LEVEL),
  // A daemon that dies closes its pipe and is known at once; silence is one that is stopped or hangs.
  beatLimitMs: 250,
  daemonTime: () => processorTime(process.ppid),
  ...(thisPlatform.uptimeCountsSleep ? { sleptMs } : {}),
});

/** Longer than the proof is tried for; a link that cannot be closed must not keep a process nobody talks to. */
const LEAVE_WITHIN_MS = 30_000;

let leaving = false;
function leave(why: string, code: number): void {
  if (leaving) return;
  leaving = true;
  // The off lines go out in this turn; what follows is the proof.
  bench.cut(why);
  setTimeout(() => process.exit(1), LEAVE_WITHIN_MS);
  bench.daemonGone(why).then(
    () => process.exit(code),
    () => process.exit(1),
  );
}

process.on("message", (raw) => bench.receive(raw));
process.on("disconnect", () => leave("the daemon ended", 0));
process.on("uncaughtException", (cause) => leave(`an unexpected error: ${cause.message}`, 1));
process.on("unhandledRejection", (cause) => leave(`an unexpected error: ${String(cause)}`, 1));
// The daemon gets the terminal's Ctrl-C too, cuts first and waits for the proof; dying of it here would only cost time.
process.on("SIGINT", () => bench.cut("Ctrl-C"));
process.on("SIGHUP", () => bench.cut("the terminal was closed"));
process.on("SIGTERM", () => leave("SIGTERM", 0));
