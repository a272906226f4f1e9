/**
 * The guardian: does nothing while all is well. When the bench process is gone, or silent past 250 ms while armed, it
 * ends it, opens each armed supply's link, writes off twice, proves it, and leaves an incident for the next start.
 */
import { rmSync } from "node:fs";
import type { ArmFile, FromGuardian } from "../../shared/guardian.ts";
import { ToGuardian } from "../../shared/guardian.ts";
import { processorTime } from "../system/processor-time.ts";
import { realClock } from "../system/real-clock.ts";
import { Silence } from "../system/silence.ts";
import { endProcess } from "./end-process.ts";
import { keepFile, leaveIncident } from "./leave-incident.ts";
import { type SwitchedOff, switchOff } from "./switch-off.ts";

const SILENT_MS = 250;
const LOOK_MS = 25;
/** All attempts together take less; a link that cannot be closed must not keep the others' word from being left. */
const ACT_WITHIN_MS = 120_000;

const armPath = process.argv[2] ?? "";
let armed: ArmFile | undefined;
let acting = false;
// The bench process is this one's parent as long as it lives.
const silence = new Silence(realClock.nowMs(), () => processorTime(process.ppid));

const outOfTime = (name: string) =>
  new Promise<SwitchedOff>((resolve) => {
    const detail = `off was not proved within ${ACT_WITHIN_MS / 1000} s`;
    setTimeout(() => resolve({ name, output: "unknown", detail }), ACT_WITHIN_MS);
  });

async function act(why: string): Promise<void> {
  const arm = armed;
  if (acting || arm === undefined) return;
  acting = true;
  const startedMs = realClock.nowMs();
  endProcess(arm.benchPid, arm.benchStart);
  const supplies = await Promise.all(
    arm.supplies.map((each) => Promise.race([switchOff(each, realClock), outOfTime(each.name)])),
  );
  leaveIncident(armPath, arm, { why, tookMs: realClock.nowMs() - startedMs, supplies });
  process.exit(supplies.every((each) => each.output === "off") ? 0 : 4);
}

const send = (message: FromGuardian): void => void process.send?.(message, undefined, {}, () => {});

process.on("message", (raw) => {
  silence.heard(realClock.nowMs());
  const message = ToGuardian.safeParse(raw);
  if (!message.success || acting) return;
  if (message.data.type === "beat") send({ type: "beat" });
  else if (message.data.type === "disarm") {
    armed = undefined;
    try {
      rmSync(armPath, { force: true });
    } catch {
      // A file that stays behind is overwritten by the next run.
    }
  } else {
    armed = message.data.arm;
    try {
      keepFile(armPath, armed);
    } catch {
      // The bytes are held in memory too; the file only helps a person after a power cut.
    }
    send({ type: "armed", id: message.data.id });
  }
});
process.on("disconnect", () => {
  if (armed === undefined) process.exit(0);
  void act("the bench process was gone");
});
// A terminal's Ctrl-C or a group's hang-up is for the others: this process ends when it is no longer needed.
for (const signal of ["SIGINT", "SIGHUP", "SIGTERM"] as const) process.on(signal, () => {});

setInterval(() => {
  const silentMs = silence.look(realClock.nowMs(), SILENT_MS);
  if (silentMs > SILENT_MS) void act(`the bench process was silent for ${Math.round(silentMs)} ms`);
}, LOOK_MS);
