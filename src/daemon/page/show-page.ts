import type { DrawVerdict } from "../../../shared/draw-verdict.ts";
import type { RunProgress } from "../../../shared/ipc.ts";
import type { Permit } from "../../../shared/permit.ts";
import type { PlanEvent, RunOutcome } from "../../../shared/plan.ts";
import type { FeedReading } from "../../../shared/reading.ts";
import type { RunHeader } from "../../../shared/record/run-record.ts";
import type { SweepLine } from "../../../shared/sweep.ts";
import type {
  OutputState,
  WireCycles,
  WireDown,
  WireLogLine,
  WireQuestion,
  WireSnapshot,
  WireSweep,
} from "../../../shared/wire.ts";
import { nextSteps } from "../../../shared/words/next-steps.ts";
import { pictureAt, pictureEnded, runPicture } from "../../wire/run-picture.ts";
import { NO_SETTINGS, raiseInWords, settingsAfter, settingsEnded } from "../../wire/settings-in-force.ts";
import { pictureOfRun } from "../reads/picture-of-run.ts";
import type { OpenRun } from "../run/stored-run.ts";
import { TraceRing } from "./trace-ring.ts";
import { wireReading } from "./wire-reading.ts";

const LOG_LENGTH = 100;

/** The picture that every page of the bench is shown: kept for one that opens late, and sent to those that are open as it changes. */
export class PageShow {
  readonly outputs = new Map<string, OutputState>();
  readonly #listeners = new Set<(message: WireDown) => void>();
  readonly #trace = new TraceRing();
  readonly #log: WireLogLine[] = [];
  #picture: WireSnapshot["run"] = null;
  /** The run as pages were told of it last, as text; empty before the first word. */
  #told = "";
  #settings = NO_SETTINGS;
  #verdict: WireSnapshot["verdict"] = null;
  #permit: Permit | null = null;
  #question: WireSnapshot["question"] = null;
  #alarm: WireSnapshot["alarm"] = null;
  #sweep: WireSweep | null = null;
  #cycles: WireCycles | null = null;
  #jobs: WireSnapshot["jobs"] = [];

  subscribe(listener: (message: WireDown) => void): () => void {
    this.#listeners.add(listener);
    return () => void this.#listeners.delete(listener);
  }

  send(message: WireDown): void {
    for (const listener of this.#listeners) listener(message);
  }

  /** True while an output is on, or an alarm says that one may be. */
  get mayBeOn(): boolean {
    return this.#alarm !== null || [...this.outputs.values()].includes("on");
  }

  snapshot(): Omit<WireSnapshot, "program" | "bench" | "board"> {
    return {
      permit: this.#permit,
      run: this.#picture,
      trace: this.#trace.list(),
      verdict: this.#verdict,
      alarm: this.#alarm,
      question: this.#question,
      sweep: this.#sweep,
      ...(this.#cycles === null ? {} : { cycles: this.#cycles }),
      log: [...this.#log],
      jobs: this.#jobs,
    };
  }

  /** A run that is over, until another begins. */
  async last(run: OpenRun, job: string): Promise<void> {
    const { picture, trace } = await pictureOfRun(run, job);
    // One that began meanwhile is what is shown.
    if (this.#picture !== null) return;
    this.#picture = picture;
    for (const { feed, readings } of trace) this.#trace.add(feed, readings);
    const verdict = run.end?.verdict ?? null;
    if (verdict !== null) {
      const { run: id, startedAt } = run.header;
      this.#verdict = { run: id, job, startedAt, verdict, next: nextSteps(verdict, run.end?.outcome) };
    }
  }

  began({ plan, run, startedAt, baseline }: RunHeader, job: string): void {
    this.#trace.clear();
    this.#settings = NO_SETTINGS;
    this.#verdict = null;
    this.#told = "";
    this.#picture = runPicture(plan, { run, job, startedAt }, baseline);
    this.send({ type: "run-state", run: this.#picture });
  }

  progress(events: readonly PlanEvent[], progress: RunProgress): void {
    // A question that the run no longer waits for is taken back: a cut or a trip came before the answer.
    if (this.#question !== null && this.#question.question !== progress.question) this.ask(null);
    const readings: FeedReading[] = [];
    for (const event of events) {
      const raised = raiseInWords(this.#settings, event);
      if (raised !== null) this.say("warn", raised);
      this.#settings = settingsAfter(this.#settings, event);
      if (event.event === "reading") readings.push(event.reading);
      else if (event.event === "output") this.outputs.set(event.feed, event.state);
      else if (event.event === "cut-done") for (const feed of this.outputs.keys()) this.outputs.set(feed, event.output);
    }
    const atMs = events.at(-1)?.atMs ?? progress.sinceMs;
    for (const feed of progress.energised) if (this.outputs.get(feed) !== "on") this.outputs.set(feed, "unknown");
    this.frame(readings, { nowMs: atMs, keep: true });
    if (this.#picture === null) return;
    const { sinceMs, ...rest } = progress;
    const drawn = pictureAt(this.#picture, { ...rest, atMs, waitedMs: Math.max(0, atMs - sinceMs) });
    this.#picture = { ...drawn, settings: this.#settings.spans };
    // A page counts the waiting time on by itself: a run of which nothing else is new is not told again.
    const told = JSON.stringify({ ...this.#picture, waitedMs: sinceMs });
    if (told === this.#told) return;
    this.#told = told;
    this.send({ type: "run-state", run: this.#picture });
  }

  /** `outcome` once the run has ended: what cut it says more than the class. */
  judged(verdict: DrawVerdict, of: { run: string; job: string; startedAt: string }, outcome?: RunOutcome): void {
    this.#verdict = { ...of, verdict, next: nextSteps(verdict, outcome) };
    this.send({ type: "verdict", verdict: this.#verdict });
  }

  /** `told`: what the run showed beside its verdict. */
  ended(outcome: RunOutcome, of: { run: string; atMs: number; told?: readonly string[] }): void {
    for (const feed of this.outputs.keys()) this.outputs.set(feed, outcome.output);
    if (outcome.trip !== null) this.send({ type: "trip", run: of.run, trip: outcome.trip });
    if (this.#picture !== null) {
      this.#settings = settingsEnded(this.#settings, of.atMs);
      const told = of.told === undefined || of.told.length === 0 ? {} : { told: [...of.told] };
      this.#picture = { ...pictureEnded(this.#picture, outcome, of.atMs), settings: this.#settings.spans, ...told };
      this.send({ type: "run-state", run: this.#picture });
    }
    this.send({ type: "outcome", run: of.run, outcome });
    this.ask(null);
    if (outcome.output === "unknown")
      this.alert("The output could not be confirmed off. Switch the supply off at its own switch.", "unknown");
  }

  /** Readings as they came; `keep` where they belong to the run's trace. */
  frame(readings: readonly FeedReading[], { nowMs, keep }: { nowMs: number; keep: boolean }): void {
    if (readings.length === 0) return;
    const feeds = [...new Set(readings.map((each) => each.feed))].map((feed) => {
      const own = readings.filter((each) => each.feed === feed);
      const list = own.map(wireReading);
      if (keep) this.#trace.add(feed, list);
      return {
        feed,
        output: this.outputs.get(feed) ?? ("unknown" as const),
        ageMs: Math.max(0, nowMs - (own.at(-1)?.atMs ?? nowMs)),
        readings: list,
      };
    });
    this.send({ type: "frame", feeds, gap: false });
  }

  sweepBegan(sweep: WireSweep): void {
    this.#sweep = sweep;
    this.send({ type: "sweep", sweep });
  }

  /** A line of the sweep; of live readings only the last is kept for a page that opens late. */
  sweepLine(line: SweepLine): void {
    const sweep = this.#sweep;
    if (sweep === null) return;
    const kept = line.event === "reading" ? sweep.lines.filter((each) => each.event !== "reading") : sweep.lines;
    this.#sweep = { ...sweep, lines: [...kept, line] };
    this.send({ type: "sweep-line", sweep: sweep.sweep, line });
  }

  cycles(cycles: WireCycles): void {
    this.#cycles = cycles;
    this.send({ type: "cycles", cycles });
  }

  permit(permit: Permit): void {
    this.#permit = permit;
    this.send({ type: "permit", permit });
  }

  ask(question: WireSnapshot["question"]): void {
    this.#question = question;
    this.send({ type: "question", question });
  }

  /** Takes a question back that was just answered; null where that number is not the one being asked. */
  answered(question: number): WireQuestion | null {
    const asked = this.#question;
    if (asked?.question !== question) return null;
    this.ask(null);
    return asked;
  }

  /** Asks once more what was not answered after all, unless the next question has come meanwhile. */
  askAgain(question: WireQuestion): void {
    if (this.#question === null) this.ask(question);
  }

  /** The finding of the proof after a cut, for every output of the bench. */
  cutProved(output: "off" | "unknown", because: string): void {
    this.send({ type: "cut-proof", output, because });
    if (output === "off") for (const feed of this.outputs.keys()) this.outputs.set(feed, "off");
  }

  alert(message: string, output: "unknown" | "off"): void {
    this.#alarm = output === "off" ? null : { message, output };
    this.send({ type: "alarm", alarm: this.#alarm });
    this.say(output === "off" ? "info" : "error", message);
  }

  /** Everything was found off by a look of its own: an alarm that nobody took back is over. */
  foundOff(): void {
    if (this.#alarm !== null) this.alert("Every output was checked again and found off.", "off");
  }

  /** Nothing is known of any output: the process that would know is gone, or its link is. */
  notKnown(): void {
    for (const feed of this.outputs.keys()) this.outputs.set(feed, "unknown");
  }

  jobs(jobs: WireSnapshot["jobs"]): void {
    this.#jobs = jobs;
    this.send({ type: "jobs", jobs });
  }

  say(level: WireLogLine["level"], text: string): void {
    const line = { at: new Date().toISOString(), level, text };
    this.#log.push(line);
    if (this.#log.length > LOG_LENGTH) this.#log.shift();
    this.send({ type: "log", line });
  }
}
