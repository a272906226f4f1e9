/**
 * The guardian: does nothing while all is well. When the bench process is gone, or silent past 250 ms while armed, it
 * ends it, opens each armed supply's link, writes off twice, proves it, and leaves an incident for the next start.
 */
import { mkdirSync, renameSync, rmSync, writeFileSync } from "node:fs";
import path from "node:path";
import type { ArmFile, FromGuardian, Incident } from "../../shared/guardian.ts";
import { ToGuardian } from "../../shared/guardian.ts";
import { processStart } from "../link/process-start.ts";
import { realClock } from "../link/real-clock.ts";
import { runWaitMs } from "../link/run-wait.ts";
import { Silence } from "../link/silence.ts";
import { switchOff } from "./switch-off.ts";

const SILENT_MS = 250;
const LOOK_MS = 25;

const armPath = process.argv[2] ?? "";
let armed: ArmFile | undefined;
let acting = false;
// The bench process is this one's parent as long as it lives.
const silence = new Silence(realClock.nowMs(), () => runWaitMs(process.ppid));

/** Safe against a crash in between: the file is whole or not there. */
function keep(file: string, content: unknown): void {
  mkdirSync(path.dirname(file), { recursive: true });
  writeFileSync(`${file}.new`, JSON.stringify(content), { mode: 0o600 });
  renameSync(`${file}.new`, file);
}

function endBenchProcess(arm: ArmFile): void {
  // Its parent as long as it lives; afterwards the pid may be another's, which the start time tells where it can be had.
  const start = processStart(arm.benchPid);
  if (process.ppid !== arm.benchPid && (start === null || start !== arm.benchStart)) return;
  try {
    process.kill(arm.benchPid, "SIGKILL");
  } catch {
    // It was gone already, which is what was wanted.
  }
}

async function act(why: string): Promise<void> {
  const arm = armed;
  if (acting || arm === undefined) return;
  acting = true;
  const startedMs = realClock.nowMs();
  endBenchProcess(arm);
  const supplies = await Promise.all(arm.supplies.map((each) => switchOff(each, realClock)));
  const incident: Incident = {
    version: 1,
    record: arm.record,
    why,
    at: new Date().toISOString(),
    tookMs: realClock.nowMs() - startedMs,
    supplies,
  };
  try {
    keep(path.join(path.dirname(armPath), `incident-${arm.record}-${Date.now()}.json`), incident);
    rmSync(armPath, { force: true });
  } catch {
    // A full or read-only disk costs the incident's file, never the cut, which is done.
  }
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
      keep(armPath, armed);
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
