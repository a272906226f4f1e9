import { type ChildProcess, fork } from "node:child_process";
import { EventEmitter } from "node:events";
import { BenchError, type BenchErrorCode } from "../../../shared/bench-error.ts";
import { Epoch } from "../../../shared/epoch.ts";
import type { BenchFile } from "../../../shared/files/bench-file.ts";
import type { DriverFile, OwnDrivers } from "../../../shared/files/driver-file.ts";
import {
  type FoundFeed,
  type FoundInstrument,
  FromBench,
  IPC_PROTOCOL,
  type MissingFeed,
  type ToBench,
} from "../../../shared/ipc.ts";
import type { MeterReadSetting } from "../../../shared/meter-reading.ts";
import type { Permit } from "../../../shared/permit.ts";
import type { Plan } from "../../../shared/plan.ts";
import { REAL_TIME_FLAGS } from "../../../shared/real-time-flags.ts";
import { inProgram } from "../../system/in-program.ts";
import { realClock } from "../../system/real-clock.ts";
import { preferThisProcess } from "./prefer-process.ts";
import { stayAwake } from "./stay-awake.ts";

type Of<T extends FromBench["type"]> = Extract<FromBench, { type: T }>;

export interface BenchProcessEvents {
  events: [Of<"events">];
  question: [Of<"question">];
  ended: [Of<"ended">];
  recording: [Of<"recording">];
  idle: [Of<"idle">];
  answered: [Of<"answered">];
  "meter-readings": [Of<"meter-readings">];
  alarm: [Of<"alarm">];
  problem: [Of<"problem">];
  /** The finding of the proof after the last cut; one of an earlier cut is not told. */
  "cut-proof": [Of<"cut-proof">];
  /** Something to know that changes nothing; each sentence once. */
  note: [string];
  /** The bench process ended without being asked to; what it had energised the guardian switches off. */
  lost: [string];
  /** The bench process has ended, asked or not, and all that it said has been handed on. */
  gone: [string];
}

/** Often enough that a stall has nearly all of the time that the bench process allows. */
const BEAT_MS = 25;
const COMMAND_MS = 10_000;
const CONNECT_MS = 60_000;
/** The bench process refuses what is past its deadline: only some time after that is it certain that no answer comes. */
const MARGIN_MS = 1000;
/** The bench process writes off in the turn in which a cut reaches it; no word within this is no cut to rely on. */
const CUT_WORD_MS = 300;
/** The time for which the last words of an ended process may still be in the pipe. */
const LAST_WORDS_MS = 500;
/** The time the bench process gets to prove its outputs off by itself once the pipe is closed. */
const LEAVE_MS = 12_000;
const benchMain = inProgram("bench/main.js");

/** Whether the bench process itself said that it wrote the off lines of a cut; where it did not, why not. */
export type CutWord = { taken: true } | { taken: false; because: string };

interface Waiting {
  resolve: (connected: Of<"connected"> | undefined) => void;
  reject: (cause: BenchError) => void;
  connected?: Of<"connected">;
  cancel: () => void;
}

/**
 * The daemon's side of the bench process: starts it, beats, sends commands each with an id, a lease and a deadline, and
 * hands on what comes. Losing it is an event, never a hang.
 */
export class BenchProcess extends EventEmitter<BenchProcessEvents> {
  readonly #child: ChildProcess;
  readonly #waiting = new Map<number, Waiting>();
  readonly #lease = 1;
  readonly #exited: Promise<void>;
  #nextId = 0;
  #beating: NodeJS.Timeout;
  #closing = false;
  #lost = false;
  /** Raised by each cut and each stop; a run that was asked for before one does not begin after it. */
  readonly epoch = new Epoch();
  #lastCut = 0;
  /** Why the process is no longer to be believed, once it said what nobody can read. */
  #broken: string | null = null;
  readonly #notes = new Set<string>();
  /** Ends what keeps the machine awake for a run. */
  #mayRest: () => void = () => {};
  /** The scheduling that the process got, once it has said so. */
  scheduling = "not known yet";

  /** `program` is the file that is started; by default the bench process itself. */
  constructor(options: { armDirectory: string | null; program?: string }) {
    super();
    preferThisProcess();
    this.#child = fork(options.program ?? benchMain, [], {
      stdio: ["ignore", "ignore", "ignore", "ipc"],
      serialization: "advanced",
      // A debugger's or a test runner's flags are not for the process that holds the cut.
      execArgv: REAL_TIME_FLAGS,
    });
    this.#exited = new Promise((resolve) => {
      const over = (why: string): void => {
        this.#lose(why);
        resolve();
      };
      this.#child.on("exit", (code, signal) => {
        const why = this.#broken ?? `the bench process ended (${signal ?? `code ${code}`})`;
        if (!this.#child.connected) return over(why);
        const late = setTimeout(() => over(why), LAST_WORDS_MS);
        this.#child.once("disconnect", () => {
          clearTimeout(late);
          over(why);
        });
      });
      this.#child.on("error", (cause) => {
        // A process that was never there has no exit to wait for.
        if (this.#child.pid === undefined) over(`the bench process could not be started: ${cause.message}`);
      });
    });
    this.#child.on("message", (raw) => this.#take(raw));
    this.#send({ type: "hello", protocol: IPC_PROTOCOL, lease: this.#lease, armDirectory: options.armDirectory });
    this.#beating = setInterval(() => this.#send({ type: "beat", lease: this.#lease }), BEAT_MS);
  }

  get pid(): number | undefined {
    return this.#child.pid;
  }

  get isLost(): boolean {
    return this.#lost;
  }

  async connect(options: {
    bench: BenchFile;
    drivers: DriverFile[];
    ownDrivers?: OwnDrivers;
    feeds: string[];
    /** Feeds whose supply may be absent. */
    mayMiss?: string[];
  }): Promise<{
    instruments: FoundInstrument[];
    feeds: FoundFeed[];
    missing: MissingFeed[];
  }> {
    const connected = await this.#command({ type: "connect", ...options }, CONNECT_MS);
    if (connected === undefined)
      throw new BenchError("bad-message", "Cannot connect: the bench process gave no answer; nothing was energised");
    const { instruments, feeds, missing = [] } = connected;
    return { instruments, feeds, missing };
  }

  async run(options: {
    record: string;
    plan: Plan;
    permit: Permit;
    confirmsRaises: boolean;
    trigger?: { channel: number; level: number };
  }): Promise<void> {
    this.#mayRest();
    this.#mayRest = stayAwake((why) => this.#noteOnce(`this machine may go to sleep during the run: ${why}`));
    try {
      await this.#command({ type: "run", ...options }, COMMAND_MS);
    } catch (cause) {
      this.#mayRest();
      throw cause;
    }
  }

  #noteOnce(note: string): void {
    if (!this.#notes.has(note)) this.emit("note", note);
    this.#notes.add(note);
  }

  async answer(question: number, yes: boolean): Promise<void> {
    await this.#command({ type: "answer", question, yes }, COMMAND_MS);
  }

  /** Ends the run as its plan says; one that is still being prepared does not begin. */
  async stop(by: string): Promise<void> {
    this.epoch.raise();
    await this.#command({ type: "stop", by }, COMMAND_MS);
  }

  /**
   * Reads the meter again and again with this setting, in place of the one before; readings come as events. Throws
   * BenchError "setting-refused" (no meter, or it cannot), and for ohms and diode mode
   * "output-unknown" where an output is not proved off, "bad-input" while a run is on or with no supply connected.
   */
  async readMeter(setting: MeterReadSetting): Promise<void> {
    await this.#command({ type: "meter-read", setting }, COMMAND_MS);
  }

  async restMeter(): Promise<void> {
    await this.#command({ type: "meter-rest" }, COMMAND_MS);
  }

  /**
   * Off, at once; needs no lease and has no deadline. It is sent in this turn. The answer is the bench process's own
   * word that off is written, or, at the latest after 300 ms, why there is none; the proof follows as `cut-proof`.
   */
  cut(by: string): Promise<CutWord> {
    this.epoch.raise();
    const id = ++this.#nextId;
    this.#lastCut = id;
    if (this.#lost || this.#broken !== null || !this.#child.connected)
      return Promise.resolve({ taken: false, because: "The bench process has ended." });
    return new Promise((resolve) => {
      const timer = setTimeout(() => {
        this.#waiting.delete(id);
        resolve({ taken: false, because: `The bench process did not answer the cut within ${CUT_WORD_MS} ms.` });
      }, CUT_WORD_MS);
      this.#waiting.set(id, {
        resolve: () => resolve({ taken: true }),
        reject: (cause) => resolve({ taken: false, because: cause.message }),
        cancel: () => clearTimeout(timer),
      });
      this.#send({ type: "cut", id, by });
    });
  }

  /** Ends the bench process after it has proved everything off. */
  async close(): Promise<void> {
    if (this.#closing) return this.#exited;
    this.#closing = true;
    clearInterval(this.#beating);
    if (this.#child.connected) {
      await this.#command({ type: "close" }, 15_000).catch(() => undefined);
      if (this.#child.connected) this.#child.disconnect();
    }
    // One that hangs is ended, so that the guardian knows it gone.
    const hangs = setTimeout(() => this.#child.kill("SIGKILL"), LEAVE_MS);
    await this.#exited;
    clearTimeout(hangs);
  }

  #command(body: CommandBody, withinMs: number): Promise<Of<"connected"> | undefined> {
    const id = ++this.#nextId;
    return new Promise((resolve, reject) => {
      if (this.#lost) {
        reject(
          new BenchError("bench-process-lost", `Cannot ${body.type}: the bench process has ended; nothing was sent`),
        );
        return;
      }
      const timer = setTimeout(() => {
        this.#waiting.delete(id);
        reject(
          new BenchError(
            "bench-process-lost",
            `Cannot ${body.type}: the bench process gave no answer within ${withinMs} ms${body.type === "run" ? "; the output is unknown" : ""}`,
            body.type === "run" ? { detail: { output: "unknown" } } : {},
          ),
        );
      }, withinMs + MARGIN_MS);
      this.#waiting.set(id, { resolve, reject, cancel: () => clearTimeout(timer) });
      const stamped =
        body.type === "close"
          ? { ...body, id }
          : { ...body, id, lease: this.#lease, deadlineMs: realClock.nowMs() + withinMs };
      this.#send(stamped as ToBench);
    });
  }

  #send(message: ToBench): void {
    // A closed pipe is reported by "exit"; a message lost with it was for a process that is gone.
    if (this.#child.connected) this.#child.send(message, () => {});
  }

  #take(raw: unknown): void {
    if (this.#broken !== null) return;
    const parsed = FromBench.safeParse(raw);
    if (!parsed.success) {
      const [issue] = parsed.error.issues;
      const where = issue === undefined ? "" : ` (${issue.path.join(".")}: ${issue.message})`;
      return this.#distrust(`the bench process sent an unreadable message${where}`);
    }
    const message = parsed.data;
    switch (message.type) {
      case "hello":
        if (message.protocol !== IPC_PROTOCOL) {
          return this.#distrust(
            `the bench process speaks protocol ${message.protocol}, this program ${IPC_PROTOCOL}; run "npm run build"`,
          );
        }
        this.scheduling = message.scheduling;
        return;
      case "beat":
        return;
      case "connected": {
        const waiting = this.#waiting.get(message.id);
        if (waiting !== undefined) waiting.connected = message;
        return;
      }
      case "done":
        this.#settle(message.id, (waiting) => waiting.resolve(waiting.connected));
        return;
      case "problem": {
        const { problem, id } = message;
        if (id === null || !this.#waiting.has(id)) this.emit("problem", message);
        else {
          const detail = { output: problem.output };
          const instrument = problem.instrument === null ? {} : { instrument: problem.instrument };
          this.#settle(id, (waiting) =>
            waiting.reject(new BenchError(problem.code as BenchErrorCode, problem.message, { detail, ...instrument })),
          );
        }
        return;
      }
      case "events":
        this.emit("events", message);
        return;
      case "question":
        this.emit("question", message);
        return;
      case "ended":
        this.#mayRest();
        this.emit("ended", message);
        return;
      case "recording":
        this.emit("recording", message);
        return;
      case "idle":
        this.emit("idle", message);
        return;
      case "answered":
        this.emit("answered", message);
        return;
      case "meter-readings":
        this.emit("meter-readings", message);
        return;
      case "cut-proof":
        if (message.id === this.#lastCut) this.emit("cut-proof", message);
        return;
      case "alarm":
        this.emit("alarm", message);
        return;
      default:
        message satisfies never;
    }
  }

  /**
   * The word of the process can no longer be relied on: an end or an alarm may be among what was not understood. It is
   * ended, by which the guardian switches off; nothing more that it says is heard.
   */
  #distrust(why: string): void {
    this.#broken = `${why}; it was ended`;
    this.emit("problem", {
      type: "problem",
      id: null,
      problem: { code: "bench-process-lost", message: this.#broken, instrument: null, output: "unknown" },
    });
    this.#child.kill("SIGKILL");
  }

  #settle(id: number, how: (waiting: Waiting) => void): void {
    const waiting = this.#waiting.get(id);
    if (waiting === undefined) return;
    this.#waiting.delete(id);
    waiting.cancel();
    how(waiting);
  }

  #lose(why: string): void {
    if (this.#lost) return;
    this.#lost = true;
    this.#mayRest();
    clearInterval(this.#beating);
    for (const id of [...this.#waiting.keys()]) {
      this.#settle(id, (waiting) =>
        this.#closing
          ? waiting.resolve(waiting.connected)
          : waiting.reject(new BenchError("bench-process-lost", `${why}; the guardian switches off what was on`)),
      );
    }
    if (!this.#closing) this.emit("lost", why);
    this.emit("gone", why);
  }
}

type CommandBody = DistributiveOmit<
  Extract<ToBench, { type: "connect" | "run" | "answer" | "stop" | "meter-read" | "meter-rest" | "close" }>,
  "id" | "lease" | "deadlineMs"
>;
type DistributiveOmit<T, K extends PropertyKey> = T extends unknown ? Omit<T, K> : never;
