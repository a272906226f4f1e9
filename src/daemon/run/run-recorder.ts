import type { PlanEvent } from "../../../shared/plan.ts";
import type { RunEnd, RunHeader } from "../../../shared/record/run-record.ts";
import { type CaptureWriter, openCaptureWriter } from "../../capture/chunk-store.ts";
import type { JobStore } from "../../job/store/job-store.ts";

/** Commits hold this thread up, each for as long as the disk takes; between two of them it must get to its other duties. */
const nextTurn = () => new Promise<void>((resolve) => void setImmediate(resolve));

export interface RunRecorderOptions {
  store: JobStore;
  job: string;
  header: RunHeader;
  /** The record could not be written: what is energised should go off. Called once. */
  onTrouble: (cause: unknown) => void;
}

/**
 * Files a run while it happens: readings stream to the capture's chunks, everything else to the job's events. Nothing
 * here is waited for by the bench; a disk that is full or slow is reported through `onTrouble`, and what is not yet
 * written stays in memory.
 */
export class RunRecorder {
  readonly #options: RunRecorderOptions;
  #writer!: CaptureWriter;
  #work: Promise<void> = Promise.resolve();
  #trouble: unknown;

  private constructor(options: RunRecorderOptions) {
    this.#options = options;
  }

  /** Files the run's header and opens its capture; throws BenchError where the record cannot be written. */
  static async open(options: RunRecorderOptions): Promise<RunRecorder> {
    const { store, job, header } = options;
    await store.appendEvent(job, { kind: "run-started", header }, { id: header.run });
    await store.addCapture(job, { id: header.capture, run: header.run });
    const recorder = new RunRecorder(options);
    recorder.#writer = await openCaptureWriter(store.captureDir, header.capture, {
      onProblem: (cause) => recorder.#troubled(cause),
    });
    return recorder;
  }

  /** The reason why the record was not written, if it was not. */
  get trouble(): unknown {
    return this.#trouble;
  }

  take(events: readonly PlanEvent[]): void {
    const others = events.filter((each) => each.event !== "reading");
    this.#queue(async () => {
      for (const each of events) if (each.event === "reading") this.#writer.append(each.reading, each.atMs);
      if (others.length > 0) {
        await this.#options.store.appendEvent(this.#options.job, {
          kind: "run-events",
          run: this.#options.header.run,
          events: others,
        });
      }
    });
  }

  /** Closes the capture and files how the run ended, each also where the other fails. Throws what could not be written. */
  async end(end: RunEnd): Promise<void> {
    const { store, job, header } = this.#options;
    this.#queue(async () => {
      await this.#writer.close();
      await store.endCapture(header.capture, "closed");
    });
    this.#queue(async () => void (await store.appendEvent(job, { kind: "run-ended", end })));
    await this.#work;
    if (this.#trouble !== undefined) throw this.#trouble;
  }

  #queue(work: () => Promise<void>): void {
    this.#work = this.#work
      .then(nextTurn)
      .then(work)
      .catch((cause: unknown) => this.#troubled(cause));
  }

  #troubled(cause: unknown): void {
    if (this.#trouble !== undefined) return;
    this.#trouble = cause;
    this.#options.onTrouble(cause);
  }
}
