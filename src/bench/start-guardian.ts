import { type ChildProcess, spawn } from "node:child_process";
import path from "node:path";
import { BenchError } from "../../shared/bench-error.ts";
import type { Clock } from "../../shared/clock.ts";
import { FromGuardian, type ToGuardian } from "../../shared/guardian.ts";
import { REAL_TIME_FLAGS } from "../../shared/real-time-flags.ts";
import { inProgram } from "../system/in-program.ts";
import { processStart } from "../system/process-start.ts";
import { processorTime } from "../system/processor-time.ts";
import { Silence } from "../system/silence.ts";
import type { GuardianPort } from "./guardian-port.ts";
import { raisePriority } from "./raise-priority.ts";

const BEAT_MS = 50;
const LOOK_MS = 25;
const SILENT_MS = 250;
/** Above the bench process: it must get its turn while that one hangs. */
const LEVEL = 20;
const ARM_WITHIN_MS = 5000;

const guardianMain = inProgram("guardian/main.js");

/**
 * Starts the guardian, detached so that a terminal's Ctrl-C or a killed group does not take it along, with no stdio.
 * It learns by the closing of its pipe, or by silence, that this process is gone.
 */
export async function startGuardian(armDirectory: string, clock: Clock): Promise<GuardianPort> {
  const armPath = path.join(armDirectory, `arm-${process.pid}.json`);
  const child = spawn(process.execPath, [...REAL_TIME_FLAGS, guardianMain, armPath], {
    detached: true,
    stdio: ["ignore", "ignore", "ignore", "ipc"],
    serialization: "advanced",
  });
  if (child.pid !== undefined) raisePriority(child.pid, LEVEL);
  return new GuardianProcess(child, clock);
}

/** Why an answer to an arm is none; null where the guardian is armed. */
function whyNotArmed(answer: FromGuardian | "lost" | "late"): string | null {
  if (answer === "lost") return "it has ended";
  if (answer === "late") return `no answer within ${ARM_WITHIN_MS} ms`;
  if (answer.type === "refused") return `it refused: ${answer.because}`;
  return null;
}

class GuardianProcess implements GuardianPort {
  readonly #child: ChildProcess;
  readonly #clock: Clock;
  readonly #lostListeners = new Set<(because: string) => void>();
  readonly #armed = new Map<number, (answer: FromGuardian | "lost") => void>();
  #lost = false;
  #armNumber = 0;
  readonly #silence: Silence;
  #isArmed = false;

  constructor(child: ChildProcess, clock: Clock) {
    this.#child = child;
    this.#clock = clock;
    this.#silence = new Silence(clock.nowMs(), () => (child.pid === undefined ? null : processorTime(child.pid)));
    child.on("message", (raw) => this.#take(raw));
    child.on("exit", () => this.#lose("the guardian process ended"));
    child.on("disconnect", () => this.#lose("the guardian's pipe closed"));
    child.on("error", (cause) => this.#lose(`the guardian could not be started: ${cause.message}`));
    const beat = (looks: number): void => {
      if (this.#lost) return;
      clock.after(LOOK_MS, () => beat(looks + 1));
      if (looks % (BEAT_MS / LOOK_MS) === 0) this.#send({ type: "beat" });
      if (this.#silence.look(clock.nowMs(), SILENT_MS) > SILENT_MS && this.#isArmed) {
        this.#lose(`the guardian was silent for more than ${SILENT_MS} ms`);
      }
    };
    beat(0);
  }

  get isAlive(): boolean {
    return !this.#lost;
  }

  onLost(listener: (because: string) => void): () => void {
    if (this.#lost) listener("the guardian had already ended");
    else this.#lostListeners.add(listener);
    return () => void this.#lostListeners.delete(listener);
  }

  async arm(record: string, supplies: Parameters<GuardianPort["arm"]>[1]): Promise<void> {
    const id = ++this.#armNumber;
    const answer = await new Promise<FromGuardian | "lost" | "late">((resolve) => {
      const cancel = this.#clock.after(ARM_WITHIN_MS, () => resolve("late"));
      this.#armed.set(id, (got) => {
        cancel();
        resolve(got);
      });
      if (this.#lost) resolve("lost");
      this.#send({
        type: "arm",
        id,
        arm: {
          version: 1,
          record,
          benchPid: process.pid,
          benchStart: processStart(process.pid),
          supplies: [...supplies],
        },
      });
    });
    this.#armed.delete(id);
    const refusal = whyNotArmed(answer);
    if (refusal !== null)
      throw new BenchError("bench-process-lost", `Cannot arm the guardian: ${refusal}; nothing was switched on`);
    this.#isArmed = true;
    this.#silence.heard(this.#clock.nowMs());
  }

  disarm(): void {
    this.#isArmed = false;
    this.#send({ type: "disarm" });
  }

  close(): void {
    this.#lost = true;
    if (this.#child.connected) this.#child.disconnect();
  }

  #take(raw: unknown): void {
    const message = FromGuardian.safeParse(raw);
    if (!message.success) return;
    this.#silence.heard(this.#clock.nowMs());
    if (message.data.type !== "beat") this.#armed.get(message.data.id)?.(message.data);
  }

  #send(message: ToGuardian): void {
    if (this.#child.connected) this.#child.send(message, () => {});
  }

  #lose(because: string): void {
    if (this.#lost) return;
    this.#lost = true;
    // Ended before its pipe is closed: one that still lives would take a closed pipe for the end of this process and act,
    // beside the guardian that comes after it.
    this.#child.kill("SIGKILL");
    if (this.#child.connected) this.#child.disconnect();
    for (const settle of this.#armed.values()) settle("lost");
    for (const listener of this.#lostListeners) listener(because);
  }
}
