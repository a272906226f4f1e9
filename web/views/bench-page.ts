import { html, LitElement, nothing } from "lit";
import type { WireDown } from "../../shared/wire.ts";
import type { WireJobSheet } from "../../shared/wire-job.ts";
import { BenchConnection, type Wish } from "../page/bench-connection.ts";
import { isCutKey } from "../page/cut-key.ts";
import { footKey } from "../page/foot-key.ts";
import { limitsNow } from "../page/limits-now.ts";
import { LitScreen } from "../page/lit-screen.ts";
import { emptyState, mayBeOn, type PageState, received, unheard } from "../page/page-state.ts";
import { spoken } from "../page/spoken.ts";
import { toneFor } from "../page/tone-for.ts";
import { Tones } from "../page/tones.ts";
import { TraceStore } from "../page/trace-store.ts";
import { jobRecord } from "../record/job-record.ts";
import { openingStep, STEPS, type Step, stepMarks, stepTurnedTo } from "../record/job-steps.ts";
import { baseStyle } from "./base-style.ts";
import { benchPageStyle } from "./bench-page-style.ts";
import type { ColdParse } from "./cold-text.ts";
import type { ColdView } from "./cold-view.ts";
import type { StartForm } from "./start-form.ts";
import type { SweepSaid } from "./sweep-view.ts";
import "./again-view.ts";
import "./cold-view.ts";
import "./cut-dock.ts";
import "./feed-figures.ts";
import "./intake-view.ts";
import "./job-path.ts";
import "./note-form.ts";
import "./next-view.ts";
import "./page-banners.ts";
import "./page-head.ts";
import "./permit-list.ts";
import "./question-card.ts";
import "./record-view.ts";
import "./repair-view.ts";
import "./run-trace.ts";
import "./side-notes.ts";
import "./stage-ribbon.ts";
import "./start-form.ts";
import "./sweep-view.ts";
import "./verdict-card.ts";

/** Often enough for an age in tenths of a second to count up. */
const TICK_MS = 100;

/** The whole page: it holds the state, hands each part its share, and sends what the parts ask for. */
export class BenchPage extends LitElement {
  static override properties = {
    state: { state: true },
    step: { state: true },
    job: { state: true },
    sheet: { state: true },
    cold: { state: true },
    picked: { state: true },
    footKey: { state: true },
    choosingKey: { state: true },
    sound: { state: true },
    silenced: { state: true },
    said: { state: true },
    sweepProblem: { state: true },
    hasKeys: { state: true },
    beat: { state: true },
  };
  declare state: PageState;
  declare step: Step;
  /** The job this page works on, and what its record holds. */
  declare job: string | null;
  declare sheet: WireJobSheet | null;
  declare cold: ColdParse;
  /** The feed to draw where the person chose one; otherwise the run's own. */
  declare picked: string | null;
  declare footKey: string;
  declare choosingKey: boolean;
  declare sound: boolean;
  declare silenced: boolean;
  declare said: string;
  declare sweepProblem: string;
  declare hasKeys: boolean;
  declare beat: number;
  #opened = false;
  readonly #store = new TraceStore();
  readonly #tones = new Tones();
  readonly #screen = new LitScreen();
  readonly #connection = new BenchConnection({
    onMessage: (message) => this.#hear(message),
    onPhase: (phase) => {
      this.state = unheard(this.state, phase);
    },
  });

  static override styles = [baseStyle, benchPageStyle];

  constructor() {
    super();
    this.state = emptyState;
    this.step = "intake";
    this.job = null;
    this.sheet = null;
    this.cold = { ok: true, cold: {} };
    this.picked = null;
    this.footKey = footKey.kept();
    this.choosingKey = false;
    this.sound = true;
    this.silenced = false;
    this.said = "";
    this.sweepProblem = "";
    this.hasKeys = document.hasFocus();
    this.beat = 0;
  }

  override connectedCallback(): void {
    super.connectedCallback();
    // Before every other listener: nothing on the page can swallow the cut.
    window.addEventListener("keydown", (event) => this.#key(event), { capture: true });
    window.addEventListener("pointerdown", () => this.#tones.wake(), { capture: true });
    setInterval(() => {
      this.beat += 1;
      this.hasKeys = document.hasFocus();
      this.#screen.keepOn(mayBeOn(this.state));
    }, TICK_MS);
    void this.#connection.open();
  }

  override render() {
    const { state, step } = this;
    const name = STEPS.find((each) => each.step === step)?.name ?? step;
    return html`<div class="page">
      <page-head
        class="top"
        .state=${state}
        .jobName=${this.sheet?.title ?? this.sheet?.short ?? ""}
        .sound=${this.sound}
        .footKey=${this.footKey}
        .choosingKey=${this.choosingKey}
        .mayChooseKey=${!mayBeOn(state)}
        @take-lease=${() => void this.#send({ type: "take-lease" })}
        @release-lease=${() => void this.#send({ type: "release-lease" })}
        @toggle-sound=${() => this.#setSound(!this.sound)}
        @choose-key=${() => {
          this.choosingKey = !this.choosingKey;
        }}
      ></page-head>
      <page-banners .state=${state} .silenced=${this.silenced} @silence-alarm=${() => this.#silence()}></page-banners>
      <nav aria-label="Progress"><job-path .step=${step} .marks=${stepMarks(state, this.sheet)} @pick-step=${this.#onPickStep}></job-path></nav>
      <div class="feeds">${this.#feeds()}</div>
      <main>
        <div class="work" role="tabpanel" tabindex="0" aria-label=${name}>${this.#work()}</div>
        <div class="side" role="region" tabindex="0" aria-label="Beside the step">${this.#side()}</div>
      </main>
      <cut-dock
        .run=${state.run}
        .waitedMs=${(state.run?.waitedMs ?? 0) + performance.now() - state.runArrivedAtMs}
        .footKey=${this.footKey}
        .on=${mayBeOn(state)}
        .said=${this.said}
        .feeds=${state.bench?.feeds.length ?? 0}
        .hasKeys=${this.hasKeys}
        @ask-cut=${() => void this.#cut()}
        @ask-stop=${() => void this.#send({ type: "stop" })}
      ></cut-dock>
      <div class="unseen" aria-live="polite">${spoken(state)}</div>
    </div>`;
  }

  #feeds() {
    const { state } = this;
    const nowMs = performance.now();
    const compact = this.step === "sweep" || (this.step !== "power-up" && !mayBeOn(state));
    return state.bench?.feeds.map((feed) => {
      const known = state.feeds[feed.feed];
      return known === undefined
        ? nothing
        : html`<feed-figures ?compact=${compact} .feed=${feed} .state=${known} .limits=${limitsNow(state, feed.feed)} .heard=${state.phase === "live"} .nowMs=${nowMs} .clockMs=${Date.now()}></feed-figures>`;
    });
  }

  /** Every step's form stays, hidden: who comes back finds what was written. */
  #work() {
    const { state, step, sheet } = this;
    const mayWrite = state.phase === "live" && state.mayOperate;
    const steers = state.phase === "live";
    const running = state.run !== null && state.run.outcome === null;
    return html`
      <intake-view ?hidden=${step !== "intake"} .sheet=${sheet} .jobs=${state.jobs} .mayWrite=${mayWrite} @open-job=${this.#onOpenJob}></intake-view>
      <cold-view
        ?hidden=${step !== "cold"}
        .board=${state.board}
        .sheet=${sheet}
        .mayWrite=${mayWrite}
        .clockMs=${Math.floor(Date.now() / 1000) * 1000}
        @open-job=${this.#onOpenJob}
        @pick-step=${this.#onPickStep}
        @cold-changed=${(event: CustomEvent<ColdParse>) => {
          this.cold = event.detail;
        }}
      ></cold-view>
      <start-form
        ?hidden=${step !== "permit" || !steers || running}
        .board=${state.board}
        .cold=${this.cold}
        .job=${this.job}
        .inControl=${state.lease === "you"}
        .ask=${this.#preview}
        @take-control=${() => void this.#send({ type: "take-lease" })}
        @ask-start=${this.#start}
      ></start-form>
      ${step === "permit" && state.permit !== null && (running || !steers) ? this.#permit(state.permit) : nothing}
      <div class="power" ?hidden=${step !== "power-up"}>
        <stage-ribbon .run=${state.run}></stage-ribbon>
        ${step === "power-up" ? this.#trace() : nothing}
      </div>
      <div class="judged" ?hidden=${step !== "verdict"}>${step === "verdict" ? this.#judged() : nothing}</div>
      <sweep-view
        ?hidden=${step !== "sweep"}
        .sweep=${state.sweep}
        .inControl=${state.lease === "you"}
        .mayStart=${steers && !running}
        .live=${steers}
        .nowMs=${step === "sweep" ? performance.now() : 0}
        .problem=${this.sweepProblem}
        @take-control=${() => void this.#send({ type: "take-lease" })}
        @ask-cold-sweep=${() => void this.#coldSweep()}
        @say-sweep=${(event: CustomEvent<SweepSaid>) => void this.#ask({ type: "say-sweep", ...event.detail })}
        @pick-step=${this.#onPickStep}
      ></sweep-view>
      <next-view ?hidden=${step !== "next"} .state=${state}></next-view>
      <repair-view ?hidden=${step !== "repair"} .sheet=${sheet} .mayWrite=${mayWrite} @board-changed=${() => this.renderRoot.querySelector<ColdView>("cold-view")?.reset()}></repair-view>
      <again-view ?hidden=${step !== "again"} .sheet=${sheet} @pick-step=${this.#onPickStep}></again-view>
      <record-view ?hidden=${step !== "report"} .sheet=${sheet} .mayWrite=${mayWrite}></record-view>
    `;
  }

  #permit(permit: NonNullable<PageState["permit"]>) {
    return html`<section class="card stack" aria-label="Permit">
      <h2>Permit: ${permit.granted ? "✓ granted" : "✕ not granted"}</h2>
      <permit-list .permit=${permit}></permit-list>
    </section>`;
  }

  #judged() {
    const { state } = this;
    if (state.verdict === null && state.run?.outcome == null) return html`<p class="card">There is no verdict yet.</p>`;
    return html`<verdict-card .verdict=${state.verdict?.verdict ?? null} .outcome=${state.run?.outcome ?? null}></verdict-card>
      ${this.#trace()}`;
  }

  #trace() {
    const { state } = this;
    return html`<run-trace
      .store=${this.#store}
      .run=${state.run}
      .feed=${this.#drawn()}
      .feeds=${state.bench?.feeds.map((feed) => feed.feed) ?? []}
      .version=${this.#store.version}
      @pick-feed=${(event: CustomEvent<string>) => {
        this.picked = event.detail;
      }}
    ></run-trace>`;
  }

  #side() {
    const { state } = this;
    return html`${
      state.question === null || state.phase !== "live"
        ? nothing
        : html`<question-card .question=${state.question} .mayAnswer=${state.lease === "you"} @answer-question=${this.#answer}></question-card>`
    }
      <side-notes .state=${state}>
        ${this.job === null || !state.mayOperate ? nothing : html`<note-form .job=${this.job}></note-form>`}
      </side-notes>`;
  }

  #drawn(): string {
    const { run, bench } = this.state;
    return this.picked ?? run?.outcome?.trip?.feed ?? run?.feed ?? this.#store.busiest() ?? bench?.feeds[0]?.feed ?? "";
  }

  #hear(message: WireDown): void {
    const tone = toneFor(this.state, message);
    if (tone !== null && tone !== "alarm" && this.sound) this.#tones.play(tone);
    const before = this.state;
    this.#store.take(message);
    this.state = received(before, message, performance.now());
    if (message.type === "cut-proof") {
      this.said =
        message.output === "off"
          ? "Cut proved: every output reads off and no current flows."
          : "The cut is not proved. Switch the supply off by its own switch, now.";
    }
    // Another alarm than the one that was heard sounds again.
    if (before.alarm?.message !== this.state.alarm?.message) this.#sayAlarm(false);
    if (message.type === "run-state" && before.run?.run !== message.run.run) {
      this.said = "";
      this.#form()?.reset();
    }
    if (message.type === "snapshot" && !this.#opened) {
      this.#opened = true;
      this.step = openingStep(this.state);
    } else this.step = stepTurnedTo(before, this.state) ?? this.step;
    if (message.type === "sweep") this.#openJob(message.sweep.job);
    const { run } = this.state;
    if (run?.job != null && before.run?.run !== run.run) this.#openJob(run.job);
    else if (message.type === "job-changed" && message.job === this.job) void this.#readSheet();
  }

  #openJob(job: string): void {
    if (this.job !== job) this.sheet = null;
    this.job = job;
    void this.#readSheet();
  }

  async #readSheet(): Promise<void> {
    const { job } = this;
    if (job === null) return;
    const asked = await jobRecord.sheet(job);
    if (this.job === job && asked.ok) this.sheet = asked.value;
  }

  #key(event: KeyboardEvent): void {
    this.#tones.wake();
    // While anything may be on, a key is for cutting and for nothing else.
    if (this.choosingKey && !mayBeOn(this.state) && footKey.mayBe(event.key)) {
      event.preventDefault();
      event.stopPropagation();
      this.footKey = event.key;
      footKey.keep(event.key);
      this.choosingKey = false;
      return;
    }
    const cutting = { mayBeOn: mayBeOn(this.state), footKey: this.footKey };
    if (!isCutKey({ key: event.key, repeat: false }, cutting)) return;
    // Held down it repeats: cut once, and let no repeat press what has the focus.
    event.preventDefault();
    event.stopPropagation();
    if (isCutKey(event, cutting)) void this.#cut();
  }

  async #cut(): Promise<void> {
    this.said = "Cut sent.";
    const answer = await this.#connection.cut();
    this.said = answer.result === "refused" ? answer.because : "Cut sent, not yet proved.";
  }

  async #send(wish: Wish): Promise<void> {
    const answer = await this.#connection.send(wish);
    if (answer.result === "refused") this.said = answer.because;
  }

  /** Asks something of the sweep; why it was refused stands with the sweep. */
  async #ask(wish: Wish): Promise<void> {
    const answer = await this.#connection.send(wish);
    this.sweepProblem = answer.result === "refused" ? answer.because : "";
  }

  async #coldSweep(): Promise<void> {
    const request = await this.#form()?.facts();
    if (request == null) this.step = "permit";
    else await this.#ask({ type: "start-sweep", request: { ...request, job: this.job }, powered: null });
  }

  #form(): StartForm | null {
    return this.renderRoot.querySelector("start-form");
  }

  readonly #preview = (wish: Wish) => this.#connection.send(wish);

  readonly #onPickStep = (event: CustomEvent<Step>): void => {
    this.step = event.detail;
  };

  readonly #onOpenJob = (event: CustomEvent<string>): void => this.#openJob(event.detail);

  readonly #answer = (event: CustomEvent<{ question: number; yes: boolean }>): void => {
    void this.#send({ type: "answer", ...event.detail });
  };

  readonly #start = async (event: CustomEvent<Wish>): Promise<void> => {
    const answer = await this.#connection.send(event.detail);
    if (answer.result === "refused") this.#form()?.refused(answer.because);
  };

  #setSound(on: boolean): void {
    this.sound = on;
    this.#sayAlarm(this.silenced);
    if (on) this.#tones.play("settled");
  }

  #silence(): void {
    this.#sayAlarm(true);
  }

  #sayAlarm(silenced: boolean): void {
    this.silenced = silenced;
    this.#tones.alarm(this.sound && !silenced && this.state.alarm !== null);
  }
}
customElements.define("bench-page", BenchPage);
