/** The guardian process. Started by the bench process, whose pipe it hears; all that it does is in `guardian.ts`. */
import { rmSync } from "node:fs";
import { type FromGuardian, ToGuardian } from "../../shared/guardian.ts";
import { loadForOpening, openLink } from "../link/open-link.ts";
import { processorTime } from "../system/processor-time.ts";
import { realClock } from "../system/real-clock.ts";
import { refuseDebugger } from "../system/refuse-debugger.ts";
import { Silence } from "../system/silence.ts";
import { endProcess } from "./end-process.ts";
import { Guardian } from "./guardian.ts";
import { IncidentFile, keepFile } from "./leave-incident.ts";
import { OPEN_WITHIN_MS, switchOff } from "./switch-off.ts";

refuseDebugger();
const armPath = process.argv[2] ?? "";
const incident = new IncidentFile(armPath);

const guardian = new Guardian({
  clock: realClock,
  // The bench process is this one's parent as long as it lives.
  silence: new Silence(realClock.nowMs(), () => processorTime(process.ppid)),
  send: (message: FromGuardian) => void process.send?.(message, undefined, {}, () => {}),
  endBench: ({ benchPid, benchStart }) => endProcess(benchPid, benchStart, { mayBeParent: true }),
  switchOff: (armed, isLate) => switchOff(armed, realClock, openLink, isLate ? 0 : OPEN_WITHIN_MS),
  prepare: ({ supplies }) => {
    for (const { address } of supplies) loadForOpening(address);
  },
  keepArm: (arm) => keepFile(armPath, arm),
  forgetArm: () => rmSync(armPath, { force: true }),
  leaveIncident: (arm, of) => incident.leave(arm, of),
  exit: (code) => process.exit(code),
});

process.on("message", (raw) => guardian.receive(ToGuardian.safeParse(raw).data ?? null));
process.on("disconnect", () => guardian.disconnected());
// A terminal's Ctrl-C or a group's hang-up is for the others: this process ends when it is no longer needed.
for (const signal of ["SIGINT", "SIGHUP", "SIGTERM"] as const) process.on(signal, () => {});
