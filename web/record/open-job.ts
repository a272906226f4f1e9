import type { ReactiveControllerHost } from "lit";
import type { WireJob } from "../../shared/wire.ts";
import type { WireJobSheet } from "../../shared/wire-job.ts";
import type { PageState } from "../page/page-state.ts";
import { say } from "../words/shell.ts";
import { jobRecord } from "./job-record.ts";
import { isOn, type Place } from "./places.ts";
import { type Round, roundsOf } from "./rounds.ts";

/** The job a page works on, what its record holds, and which of its rounds is looked at. */
export class OpenJob {
  /** null: none is open. */
  id: string | null = null;
  /** null until the record answered. */
  sheet: WireJobSheet | null = null;
  rounds: readonly Round[] = [];
  /** The round that a person chose; null: the last. */
  #chosen: number | null = null;
  readonly #host: ReactiveControllerHost;

  constructor(host: ReactiveControllerHost) {
    this.#host = host;
  }

  get round(): Round | null {
    return this.rounds[(this.#chosen ?? this.rounds.length) - 1] ?? this.rounds.at(-1) ?? null;
  }

  get name(): string {
    return this.sheet?.title ?? this.sheet?.short ?? "";
  }

  open(id: string): void {
    if (this.id !== id) {
      this.sheet = null;
      this.rounds = [];
      this.#chosen = null;
    }
    this.id = id;
    this.#host.requestUpdate();
    void this.read();
  }

  /** No job is open any more. */
  close(): void {
    this.id = null;
    this.sheet = null;
    this.rounds = [];
    this.#chosen = null;
    this.#host.requestUpdate();
  }

  lookAt(round: number): void {
    this.#chosen = round;
    this.#host.requestUpdate();
  }

  /** Reads the record again; an answer that comes after another job was opened is dropped. */
  async read(): Promise<void> {
    const { id } = this;
    if (id === null) return;
    const asked = await jobRecord.sheet(id);
    if (this.id !== id || !asked.ok) return;
    this.sheet = asked.value;
    this.rounds = roundsOf(asked.value);
    this.#host.requestUpdate();
  }

  /** A job by its title, also one that is not open. */
  titleOf(id: string | null, jobs: readonly WireJob[]): string {
    if (id === null) return say("job.new");
    if (this.sheet?.id === id) return this.sheet.title ?? this.sheet.short;
    return jobs.find((each) => each.id === id)?.title ?? say("job.another");
  }
}

/** The job a page opens with where its address names none: that of what is on, and of the last run where it names no place either. */
export function openingJob(state: PageState, named: Place | null): string | null {
  const { run, sweep } = state;
  const onNow = (sweep?.done === null ? sweep.job : null) ?? (isOn(state) ? (run?.job ?? null) : null);
  return onNow ?? (named === null ? (run?.job ?? null) : null);
}
