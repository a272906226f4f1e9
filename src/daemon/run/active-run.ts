import { EventEmitter } from "node:events";
import { BenchError } from "../../../shared/bench-error.ts";
import type { DrawInput, DrawMark, DrawTrace } from "../../../shared/draw-input.ts";
import type { DrawVerdict } from "../../../shared/draw-verdict.ts";
import type { FromBench, RoundTrip, RunProgress } from "../../../shared/ipc.ts";
import type { PlanEvent, RunOutcome } from "../../../shared/plan.ts";
import type { RunHeader } from "../../../shared/record/run-record.ts";
import { messageOf } from "../../../shared/words/message-of.ts";
import { endedBy, isVerdict, nothingLearned, type RunVerdict } from "../../../shared/words/nothing-learned.ts";
import { withRecordKnowledge } from "../../job/known/record-knowledge.ts";
import type { JobStore } from "../../job/store/job-store.ts";
import { verdictOnDraw } from "../../verdict/draw-verdict.ts";
import { withRecording } from "../../verdict/recording/with-recording.ts";
import type { BenchProcess } from "../process/bench-process.ts";
import type { CutAnew } from "../process/cut-anew.ts";
import { waitForIncident } from "../process/incidents.ts";
import { judgeAside } from "../process/judge-aside.ts";
import { fileRecording } from "./file-recording.ts";
import { recorderTrigger } from "./recorder-trigger.ts";
import { accuracyOf, drawInput, LIVE_ROWS, RunFolding } from "./run-fold.ts";
import { RunRecorder } from "./run-recorder.ts";

export interface ActiveRunEvents {
  /** New events with what the run now waits for. */
  progress: [PlanEvent[], RunProgress];
  /** A person said what they did. */
  marked: [text: string, state: string | null];
  /** The draw is judged and the outputs stay on, watched. */
  holding: [DrawVerdict, RunOutcome];
}

export interface RunResult {
  header: RunHeader;
  job: string;
  outcome: RunOutcome;
  verdict: RunVerdict;
  /** Time of the last event, milliseconds since the run began; null where it never began. */
  endedAtMs: number | null;
  /** The reason why the record was not written whole; the run itself is unaffected. */
  recordTrouble: string | null;
  /** The notice of a recorder that gave nothing, or whose record could not be filed. */
  notes?: string[];
}

/** A guardian that lives has written its incident by then; with a slow instrument it may take the rest. */
const INCIDENT_MS = 4000;
const LATE_INCIDENT_MS = 11_000;
/** Longer than the bench process tries to fetch what a recorder took down. */
const RECORDING_MS = 40_000;

type Recording = Extract<FromBench, { type: "recording" }>;

/**
 * One run under way, as the daemon sees it: files what comes, keeps a mirror of the machine, and judges the draw when
 * the run holds or ends. `done` settles once, also when the bench process is lost.
 */
export class ActiveRun extends EventEmitter<ActiveRunEvents> {
  readonly header: RunHeader;
  readonly job: string;
  readonly done: Promise<RunResult>;
  readonly #client: BenchProcess;
  readonly #recorder: RunRecorder;
  readonly #store: JobStore;
  readonly #armDirectory: string;
  readonly #cutAnew: StartRunOptions["cutAnew"];
  readonly #folding: RunFolding;
  #held = false;
  #settle: (result: RunResult) => void = () => {};
  #ending = false;

  private constructor(options: StartRunOptions, recorder: RunRecorder) {
    super();
    this.header = options.header;
    this.job = options.job;
    this.#client = options.client;
    this.#recorder = recorder;
    this.#store = options.store;
    this.#armDirectory = options.armDirectory;
    this.#cutAnew = options.cutAnew;
    this.#folding = new RunFolding(options.header.plan, LIVE_ROWS);
    this.done = new Promise((resolve) => {
      this.#settle = resolve;
    });
    this.#client.on("events", this.#onEvents);
    this.#client.on("ended", this.#onEnded);
    this.#client.on("gone", this.#onGone);
  }

  /**
   * Files the header, then starts the run. Throws BenchError when either is refused; nothing is energised then, and the
   * record says that the run ended. A bench process lost meanwhile is told by `done`, and one that does not answer is
   * told to cut: what is true of the output is then unknown.
   */
  static async start(given: StartRunOptions): Promise<ActiveRun> {
    const asked = given.client.epoch.token;
    const options = { ...given, header: await withRecordKnowledge(given.store, given.header) };
    const recorder = await RunRecorder.open({
      store: options.store,
      job: options.job,
      header: options.header,
      onTrouble: () => void options.client.cut("the record can no longer be written"),
    });
    const run = new ActiveRun(options, recorder);
    options.onBegin?.(run);
    const never = { ...run.#folding.outcome, ended: "failed" as const };
    if (options.client.isLost) {
      await run.#end(never, {});
      throw new BenchError(
        "bench-process-lost",
        "Cannot start the run: the bench process has ended; nothing was energised",
      );
    }
    if (options.client.epoch.hasRisenSince(asked)) {
      await run.#end(never, {});
      throw new BenchError(
        "bad-message",
        "Cannot start the run: off was requested before it began; nothing was energised",
      );
    }
    try {
      await options.client.run({
        record: options.header.capture,
        plan: options.header.plan,
        permit: options.header.permit,
        confirmsRaises: options.confirmsRaises,
        ...triggerOf(options.header),
      });
    } catch (cause) {
      // Lost: what had come on is the guardian's to cut, and `done` tells how that went.
      if (options.client.isLost) return run;
      // Not answered is not the same as not begun: nobody would follow a run that starts after all.
      void options.client.cut("the run could not be started");
      const isSilent = cause instanceof BenchError && cause.code === "bench-process-lost";
      await run.#end(isSilent ? { ...never, output: "unknown" } : never, {});
      throw cause;
    }
    return run;
  }

  /** The state of the run, by what has come of it so far. */
  get outcome(): RunOutcome {
    return this.#folding.outcome;
  }

  /** The actions on the board that a person reported so far. */
  get marks(): readonly DrawMark[] {
    return this.#folding.marks;
  }

  /** The readings so far, feed by feed. */
  traces(): DrawTrace[] {
    return this.#folding.traces(accuracyOf(this.header));
  }

  /**
   * Files what a person did to the board, at the time of the last reading that came; false where nothing was read yet or the run is
   * over. It changes nothing of the run.
   */
  mark(text: string, state: string | null): boolean {
    const { atMs } = this.#folding;
    if (this.#ending || atMs === null) return false;
    const event: PlanEvent = { event: "mark", atMs, text: text.slice(0, 200), state };
    this.#recorder.take([event]);
    this.#folding.take(event);
    this.emit("marked", text, state);
    return true;
  }

  #onEvents = (message: { events: PlanEvent[]; progress: RunProgress }): void => {
    this.#recorder.take(message.events);
    for (const event of message.events) this.#folding.take(event);
    if (this.header.plan.keepOn && !this.#held) this.#lookWhetherHeld();
    this.emit("progress", message.events, message.progress);
  };

  #lookWhetherHeld(): void {
    const { outcome } = this.#folding;
    if (outcome.output !== "on") return;
    this.#held = true;
    void judgeAside(this.#draw()).then(
      (verdict) => {
        if (!this.#ending) this.emit("holding", verdict, outcome);
      },
      // A run that cannot be judged now cannot be judged at the end either; it is told there.
      () => undefined,
    );
  }

  #onEnded = (message: { outcome: RunOutcome; roundTrip: Record<string, RoundTrip>; isRecorded?: true }): void => {
    // The end of a bench process once a run is over is no end of the run.
    this.#client.off("gone", this.#onGone);
    const recording = message.isRecorded === true ? this.#recording() : Promise.resolve(null);
    void recording.then((came) => this.#end(message.outcome, message.roundTrip, came));
  };

  /** The recording, once it is fetched; the outputs are off by then. Null where it never comes. */
  #recording(): Promise<Recording | null> {
    return new Promise((resolve) => {
      const settle = (came: Recording | null): void => {
        clearTimeout(timer);
        this.#client.off("recording", settle).off("gone", onGone);
        resolve(came);
      };
      const onGone = (): void => settle(null);
      const timer = setTimeout(onGone, RECORDING_MS);
      this.#client.on("recording", settle).on("gone", onGone);
    });
  }

  #onGone = (why: string): void => {
    if (this.#ending) return;
    void (async () => {
      const { output, because } = await this.#afterLoss();
      const { outcome, atMs } = this.#folding;
      await this.#end(
        {
          ...outcome,
          ended: "failed",
          output,
          trip: outcome.trip ?? {
            rule: "link-lost",
            feed: null,
            stage: outcome.reachedStage,
            atMs: atMs ?? 0,
            board: false,
            because: `${why}; ${because}`,
          },
        },
        {},
      );
    })();
  };

  /** The guardian's acts; where it left no word, the findings of another bench process. */
  async #afterLoss(): Promise<CutAnew> {
    const wordWithin = (ms: number) => waitForIncident(this.#armDirectory, this.header.capture, ms);
    let incident = await wordWithin(INCIDENT_MS);
    let noWord = "the guardian left no report of the cut";
    if (incident === null && this.#cutAnew !== undefined) {
      const found = await this.#cutAnew();
      noWord += `; ${found.because}`;
      if (found.output === "off") return { output: "off", because: noWord };
    }
    incident ??= await wordWithin(LATE_INCIDENT_MS);
    if (incident === null) return { output: "unknown", because: noWord };
    return {
      output: incident.supplies.every((each) => each.output === "off") ? "off" : "unknown",
      because: `the guardian switched off: ${incident.supplies.map((each) => each.detail).join("; ")}`,
    };
  }

  #draw(outcome: RunOutcome = this.#folding.outcome): DrawInput {
    const { marks } = this.#folding;
    return drawInput({ traces: this.#folding.traces(accuracyOf(this.header)), outcome, marks }, this.header);
  }

  async #end(
    outcome: RunOutcome,
    roundTrip: Record<string, RoundTrip>,
    recording: Recording | null = null,
  ): Promise<void> {
    if (this.#ending) return;
    this.#ending = true;
    this.#stopListening();
    const recorded = recording?.recorded ?? null;
    const by = this.#held ? null : endedBy(outcome);
    const told: RunOutcome = by === null ? outcome : { ...outcome, endedBy: by };
    const input = this.#draw(outcome);
    const read = verdictOnDraw(input);
    const verdict = unlessUnjudged(recorded === null ? read : withRecording(read, input, recorded), told);
    let recordTrouble: string | null = null;
    try {
      await this.#recorder.end({
        run: this.header.run,
        capture: this.header.capture,
        endedAtMs: this.#folding.atMs ?? 0,
        outcome: told,
        // The draw of an injection says nothing of a power-up.
        verdict: this.header.plan.inject === undefined && isVerdict(verdict) ? verdict : null,
        energyJoules: outcome.levels?.reduce((sum, each) => sum + each.joules, 0) ?? verdict.energyJoules,
        roundTrip,
      });
    } catch (cause) {
      recordTrouble = messageOf(cause);
    }
    const { header, job } = this;
    const notes =
      recorded === null
        ? [recording?.because ?? null].filter((each) => each !== null)
        : await fileRecording(this.#store, { job, run: header.run, board: header.board, recorded });
    const endedAtMs = this.#folding.atMs;
    this.#settle({
      header,
      job,
      outcome: told,
      verdict,
      endedAtMs,
      recordTrouble,
      ...(notes.length > 0 ? { notes } : {}),
    });
  }

  #stopListening(): void {
    this.#client.off("events", this.#onEvents);
    this.#client.off("ended", this.#onEnded);
    this.#client.off("gone", this.#onGone);
  }
}

/** The trigger of the recorder, where there is one. */
function triggerOf({ bench, board, plan }: RunHeader): { trigger?: { channel: number; level: number } } {
  const trigger = recorderTrigger(bench, board, plan);
  return trigger === null ? {} : { trigger };
}

/** The verdict, or what is left of it where the bench or a person ended the run: figures, and the one sentence. */
function unlessUnjudged(verdict: DrawVerdict, outcome: RunOutcome): RunVerdict {
  const sentence = nothingLearned(outcome);
  if (sentence === null) return verdict;
  const { sub: _, ...rest } = verdict;
  return { ...rest, class: null, candidates: [], because: [sentence] };
}

export interface StartRunOptions {
  client: BenchProcess;
  store: JobStore;
  job: string;
  header: RunHeader;
  armDirectory: string;
  /** False where nobody is there to confirm a raised limit. */
  confirmsRaises: boolean;
  /** Starts another bench process to cut what a lost one and its guardian left on, unless somebody else connects again. */
  cutAnew?: () => Promise<CutAnew>;
  /** Called with the run before it is started, so that nothing it says is missed. */
  onBegin?: (run: ActiveRun) => void;
}
