import { html, LitElement, nothing, type PropertyValues } from "lit";
import type { WireDown } from "../../shared/wire.ts";
import type { WireJobSheet } from "../../shared/wire-job.ts";
import { addressIn, hashOf } from "../page/address.ts";
import { BenchConnection, type Wish } from "../page/bench-connection.ts";
import { isCutKey } from "../page/cut-key.ts";
import { footKey } from "../page/foot-key.ts";
import { LitScreen } from "../page/lit-screen.ts";
import { emptyState, mayBeOn, onlyFiguresDiffer, type PageState, received, unheard } from "../page/page-state.ts";
import { settingNow } from "../page/setting-now.ts";
import { spoken } from "../page/spoken.ts";
import { isTextField } from "../page/text-field.ts";
import { toneFor } from "../page/tone-for.ts";
import { Tones } from "../page/tones.ts";
import { TraceStore } from "../page/trace-store.ts";
import { jobRecord } from "../record/job-record.ts";
import { isOn, isSweeping, openingPlace, PLACES, type Place, placeMarks, placeTurnedTo } from "../record/places.ts";
import { type Round, roundsOf } from "../record/rounds.ts";
import { baseStyle } from "./base-style.ts";
import { benchPageStyle } from "./bench-page-style.ts";
import type { ColdParse } from "./cold-text.ts";
import { type DockQuestion, runQuestion } from "./cut-dock.ts";
import type { FeedStrip } from "./feed-strip.ts";
import type { PowerView } from "./power-view.ts";
import type { SweepSaid } from "./probe-view.ts";
import type { StartForm } from "./start-form.ts";
import "./cold-view.ts";
import "./compare-view.ts";
import "./feed-strip.ts";
import "./intake-view.ts";
import "./next-question.ts";
import "./note-form.ts";
import "./page-banners.ts";
import "./page-head.ts";
import "./places-bar.ts";
import "./power-view.ts";
import "./probe-view.ts";
import "./record-view.ts";
import "./side-notes.ts";
import "./start-form.ts";
import "./work-view.ts";

/** How often ages of what was filed are looked at. */
const AGES_MS = 15_000;
/** Below this there is room for a strip of one line only. */
const SMALL = "(max-width: 56rem), (max-height: 34rem)";

/** A question of the page itself, with what a yes does. */
interface OwnQuestion extends DockQuestion {
  onYes: () => void;
}

/** The whole page: it holds the state, hands each part its share, and sends what the parts ask for. */
export class BenchPage extends LitElement {
  static override properties = {
    // Figures alone go to the strips and the trace; nothing else of the page is made anew for them.
    state: {
      state: true,
      hasChanged: (now: PageState, before?: PageState) => before === undefined || !onlyFiguresDiffer(before, now),
    },
    place: { state: true },
    job: { state: true },
    sheet: { state: true },
    round: { state: true },
    cold: { state: true },
    footKey: { state: true },
    choosingKey: { state: true },
    sound: { state: true },
    silenced: { state: true },
    said: { state: true },
    sweepProblem: { state: true },
    hasKeys: { state: true },
    own: { state: true },
    ages: { state: true },
    small: { state: true },
    isPreparing: { state: true },
  };
  declare state: PageState;
  declare place: Place;
  /** The job this page works on, and what its record holds. */
  declare job: string | null;
  declare sheet: WireJobSheet | null;
  /** The round that is looked at; null: the last. */
  declare round: number | null;
  declare cold: ColdParse;
  declare footKey: string | null;
  declare choosingKey: boolean;
  declare sound: boolean;
  declare silenced: boolean;
  declare said: string;
  declare sweepProblem: string;
  declare hasKeys: boolean;
  declare own: OwnQuestion | null;
  declare ages: number;
  declare small: boolean;
  /** True while a start is being confirmed. */
  declare isPreparing: boolean;
  #opened = false;
  #cutSaid = false;
  #frame = 0;
  readonly #store = new TraceStore();
  readonly #tones = new Tones();
  readonly #screen = new LitScreen();
  readonly #smallScreen = matchMedia(SMALL);
  readonly #connection = new BenchConnection({
    onMessage: (message) => this.#hear(message),
    onPhase: (phase, heardAtMs) => {
      const heardAt = new Date(Date.now() - (performance.now() - heardAtMs)).toISOString();
      this.state = unheard(this.state, phase, { heardAt, atMs: heardAtMs });
    },
  });

  static override styles = [baseStyle, benchPageStyle];

  constructor() {
    super();
    this.state = emptyState;
    const { job, place } = addressIn(location.hash);
    this.place = place ?? "board";
    this.job = job;
    this.sheet = null;
    this.round = null;
    this.cold = { ok: true, cold: {} };
    this.footKey = footKey.kept();
    this.choosingKey = false;
    this.sound = true;
    this.silenced = false;
    this.said = "";
    this.sweepProblem = "";
    this.hasKeys = document.hasFocus();
    this.own = null;
    this.ages = 0;
    this.small = this.#smallScreen.matches;
    this.isPreparing = false;
  }

  override connectedCallback(): void {
    super.connectedCallback();
    // Before every other listener: nothing on the page can swallow the cut.
    window.addEventListener("keydown", (event) => this.#key(event), { capture: true });
    window.addEventListener("pointerdown", () => this.#tones.wake(), { capture: true });
    for (const name of ["focus", "blur"]) {
      window.addEventListener(name, () => {
        this.hasKeys = document.hasFocus();
      });
    }
    window.addEventListener("popstate", () => this.#onAddress());
    window.addEventListener("beforeunload", (event) => {
      if (this.state.phase === "live" && mayBeOn(this.state)) event.preventDefault();
    });
    this.#smallScreen.addEventListener("change", ({ matches }) => {
      this.small = matches;
    });
    setInterval(() => {
      this.ages += 1;
    }, AGES_MS);
    if (this.job !== null) void this.#readSheet();
    void this.#connection.open();
  }

  override updated(changed: PropertyValues): void {
    this.#screen.keepOn(mayBeOn(this.state));
    if (!this.#opened || (!changed.has("job") && !changed.has("place"))) return;
    const hash = hashOf(this.job, this.place);
    if (location.hash !== hash) history.pushState(null, "", hash);
  }

  override render() {
    const { state, place } = this;
    const name = PLACES.find((each) => each.place === place)?.name ?? place;
    const rounds = this.sheet === null ? [] : roundsOf(this.sheet);
    const round = rounds[(this.round ?? rounds.length) - 1] ?? rounds.at(-1) ?? null;
    const expired = Object.values(this.sheet?.cold ?? {}).some((each) => each.expired !== null);
    const wide = place === "power" && !this.small && !this.isPreparing;
    return html`<div class="page">
      <page-head
        .state=${state}
        .jobName=${this.sheet?.title ?? this.sheet?.short ?? ""}
        .sound=${this.sound}
        .footKey=${this.footKey}
        .choosingKey=${this.choosingKey}
        .mayChooseKey=${!mayBeOn(state)}
        @take-lease=${() => void this.#send({ type: "take-lease" })}
        @ask-lease=${() => void this.#askLease()}
        @release-lease=${() => void this.#send({ type: "release-lease" })}
        @toggle-sound=${() => this.#setSound(!this.sound)}
        @forget-key=${() => this.#setFootKey(null)}
        @choose-key=${() => {
          this.choosingKey = !this.choosingKey;
        }}
      ></page-head>
      <page-banners .state=${state} .silenced=${this.silenced} @silence-alarm=${() => this.#sayAlarm(true)}></page-banners>
      <nav aria-label="Rounds and places"><places-bar
        .place=${place}
        .marks=${placeMarks(state, this.job, round, expired)}
        .rounds=${rounds.length}
        .round=${round?.number ?? 0}
        @pick-place=${this.#onPickPlace}
        @pick-round=${(event: CustomEvent<number>) => {
          this.round = event.detail;
        }}
      ></places-bar></nav>
      <div class="feeds" data-compact=${wide ? "no" : "yes"}>${this.#feeds(wide)}</div>
      <main data-whole=${place === "probe" && isSweeping(state) ? "yes" : "no"}>
        <div class="work" role="tabpanel" tabindex="0" aria-label=${name}>${this.#work(round, rounds)}</div>
        <div class="side" role="region" tabindex="0" aria-label="Beside the place">
          <side-notes .state=${state} .job=${this.job} .sheet=${this.sheet} .round=${rounds.at(-1) ?? null}>
            ${this.job === null || !state.mayOperate ? nothing : html`<note-form .job=${this.job}></note-form>`}
          </side-notes>
        </div>
      </main>
      <cut-dock
        .state=${state}
        .footKey=${this.footKey}
        .on=${mayBeOn(state)}
        .said=${this.said}
        .hasKeys=${this.hasKeys}
        .question=${this.#question()}
        .jobName=${isOn(state) && state.run?.job !== this.job ? this.#titleOf(state.run?.job ?? null) : ""}
        @ask-cut=${() => void this.#cut()}
        @ask-stop=${() => void this.#send({ type: "stop" })}
        @answer-dock=${this.#onAnswer}
      ></cut-dock>
      <div class="unseen" aria-live="polite">${spoken(state)}</div>
    </div>`;
  }

  #feeds(wide: boolean) {
    const { state } = this;
    return state.bench?.feeds.map((feed) => {
      const known = state.feeds[feed.feed];
      return known === undefined
        ? nothing
        : html`<feed-strip ?compact=${!wide} .feed=${feed} .state=${known} .setting=${settingNow(state, feed.feed)} .heard=${state.phase === "live"}></feed-strip>`;
    });
  }

  /** Every place's form stays, hidden: who comes back finds what was written. */
  #work(round: Round | null, rounds: readonly Round[]) {
    const { state, place, sheet } = this;
    const mayWrite = state.phase === "live" && state.mayOperate;
    const steers = state.phase === "live";
    const running = isOn(state);
    const inControl = state.lease === "you";
    const isLast = round === null || round.isLast;
    // What was typed and stated is for one job, one round, and the time between two runs.
    const scope = `${this.job} ${rounds.length} ${state.board?.name ?? ""}`;
    const sweep = state.sweep !== null && (state.sweep.job === this.job || this.job === null) ? state.sweep : null;
    const swept = sweep?.done ?? null;
    return html`
      <div class="board" ?hidden=${place !== "board"}>
        <intake-view .sheet=${sheet} .jobs=${state.jobs} .mayWrite=${mayWrite} .heard=${steers} @open-job=${this.#onOpenJob}></intake-view>
        <record-view .sheet=${sheet} .mayWrite=${mayWrite}></record-view>
      </div>
      <cold-view
        ?hidden=${place !== "cold"}
        .board=${state.board}
        .sheet=${sheet}
        .mayWrite=${mayWrite}
        .mayMeasure=${steers && inControl && !running}
        .clockMs=${Date.now()}
        .scope=${scope}
        @open-job=${this.#onOpenJob}
        @pick-place=${this.#onPickPlace}
        @ask-cold-sweep=${() => void this.#coldSweep()}
        @cold-changed=${(event: CustomEvent<ColdParse>) => {
          this.cold = event.detail;
        }}
      ></cold-view>
      <power-view ?hidden=${place !== "power"} .state=${state} .job=${this.job} .sheet=${sheet} .round=${round} .store=${this.#store} .isPreparing=${this.isPreparing} @open-job=${this.#onOpenJob}>
        <start-form
          ?hidden=${!steers || running || !isLast}
          .board=${state.board}
          .cold=${this.cold}
          .job=${this.job}
          .jobName=${this.#titleOf(this.job)}
          .inControl=${inControl}
          .ask=${this.#preview}
          .scope=${`${scope} ${state.run?.run ?? ""} ${running}`}
          @take-control=${() => void this.#send({ type: "take-lease" })}
          @ask-start=${this.#start}
          @preparing=${(event: CustomEvent<boolean>) => {
            this.isPreparing = event.detail;
          }}
        ></start-form>
      </power-view>
      <probe-view
        ?hidden=${place !== "probe"}
        .sweep=${sweep}
        .board=${place === "probe" ? state.board : null}
        .inControl=${inControl}
        .mayStart=${steers && !running}
        .live=${steers}
        .problem=${this.sweepProblem}
        @take-control=${() => void this.#send({ type: "take-lease" })}
        @ask-cold-sweep=${() => void this.#coldSweep()}
        @nothing-felt=${() => {
          if (this.sound) this.#tones.play("nothing");
        }}
        @say-sweep=${(event: CustomEvent<SweepSaid>) => void this.#ask({ type: "say-sweep", ...event.detail })}
        @pick-place=${this.#onPickPlace}
      >${swept?.diagnosis == null || this.job === null ? nothing : html`<next-question slot="next" .diagnosis=${swept.diagnosis} .readings=${swept.readings} .job=${this.job} .mayWrite=${mayWrite}></next-question>`}</probe-view>
      <work-view ?hidden=${place !== "work"} .sheet=${sheet} .mayWrite=${mayWrite}></work-view>
      <compare-view ?hidden=${place !== "compare"} .sheet=${sheet}></compare-view>
    `;
  }

  /** What is asked at the dock: what a run waits for comes before all else. */
  #question(): DockQuestion | null {
    const { state } = this;
    if (state.phase !== "live") return null;
    if (state.question !== null) return runQuestion(state.question, state.lease === "you");
    if (state.leaseAskedBy !== null && state.lease === "you") {
      return {
        ask: `${state.leaseAskedBy} asks for control. Hand it over?`,
        because: "What is on stays on, and that page answers for it.",
        no: "No: keep control",
        yes: "Hand it over",
        mayAnswer: true,
      };
    }
    return this.own;
  }

  readonly #onAnswer = (event: CustomEvent<boolean>): void => {
    const yes = event.detail;
    const { question, leaseAskedBy } = this.state;
    if (question !== null) void this.#send({ type: "answer", question: question.question, yes });
    else if (leaseAskedBy !== null) void this.#send({ type: "hand-over", yes });
    else {
      const { own } = this;
      this.own = null;
      if (yes) own?.onYes();
    }
  };

  #hear(message: WireDown): void {
    const tone = toneFor(this.state, message);
    if (tone !== null && tone !== "alarm" && this.sound) this.#tones.play(tone);
    const before = this.state;
    this.#store.take(message);
    this.state = received(before, message, performance.now());
    if (message.type === "frame") this.#figures();
    // Another alarm than the one that was heard sounds again.
    if (before.alarm?.message !== this.state.alarm?.message) this.#sayAlarm(false);
    if (message.type === "snapshot" && !this.#opened) this.#open();
    else this.place = placeTurnedTo(before, this.state) ?? this.place;
    this.#followRun(before, message);
    if (message.type === "cut-proof") {
      const proved = "Cut proved: every output reads off and no current flows.";
      this.#saySomething(
        message.output === "off" ? proved : "The cut is not proved. Switch the supply off by its own switch, now.",
        message.output !== "off",
      );
    }
    // What came of a cut is over once every output is known to be off.
    if (this.#cutSaid && mayBeOn(before) && !mayBeOn(this.state)) this.#saySomething("");
    if (message.type === "job-changed" && message.job === this.job) void this.#readSheet();
    if (message.type === "snapshot" && before.phase !== "live" && this.job !== null) void this.#readSheet();
  }

  /** Where the address names a job and a place they are kept; otherwise those of what is on, or was last. */
  #open(): void {
    this.#opened = true;
    const { place } = addressIn(location.hash);
    if (place === null) this.place = openingPlace(this.state);
    if (this.job === null) {
      const { run, sweep } = this.state;
      const onNow = (sweep?.done === null ? sweep.job : null) ?? (isOn(this.state) ? (run?.job ?? null) : null);
      const job = onNow ?? (place === null ? (run?.job ?? null) : null);
      if (job !== null) this.#openJob(job);
    }
    this.requestUpdate("place", null);
  }

  /** A run or a sweep that this page began without a job has opened one. */
  #followRun(before: PageState, message: WireDown): void {
    const { run } = this.state;
    if (message.type === "sweep" && this.job === null) this.#openJob(message.sweep.job);
    if (message.type !== "run-state" || before.run?.run === message.run.run) return;
    if (run?.job != null && this.job === null) this.#openJob(run.job);
    if (run?.job === this.job) this.#saySomething("");
  }

  #figures(): void {
    if (this.#frame !== 0) return;
    // At most once for each picture the screen shows.
    this.#frame = requestAnimationFrame(() => {
      this.#frame = 0;
      for (const strip of this.renderRoot.querySelectorAll<FeedStrip>("feed-strip")) {
        const known = this.state.feeds[strip.feed.feed];
        if (known !== undefined) strip.state = known;
      }
      if (this.place === "power") this.renderRoot.querySelector<PowerView>("power-view")?.figures();
    });
  }

  #openJob(job: string): void {
    if (this.job !== job) {
      this.sheet = null;
      this.round = null;
    }
    this.job = job;
    void this.#readSheet();
  }

  async #readSheet(): Promise<void> {
    const { job } = this;
    if (job === null) return;
    const asked = await jobRecord.sheet(job);
    if (this.job === job && asked.ok) this.sheet = asked.value;
  }

  #onAddress(): void {
    const { job, place } = addressIn(location.hash);
    if (place !== null) this.place = place;
    if (job !== null && job !== this.job) this.#askOpen(job);
  }

  #titleOf(job: string | null): string {
    if (job === null) return "a new job";
    if (this.sheet?.id === job) return this.sheet.title ?? this.sheet.short;
    return this.state.jobs.find((each) => each.id === job)?.title ?? "another job";
  }

  /** Opening a job while another's board is on is asked first. */
  #askOpen(job: string): void {
    const { state } = this;
    const of = state.run?.outcome === null ? state.run.job : null;
    if (!mayBeOn(state) || of === job || state.phase !== "live") return this.#openJob(job);
    this.own = {
      ask: `Something is on. Open ${this.#titleOf(job)} all the same?`,
      because: `What is on belongs to ${this.#titleOf(of)}. It stays on, and what you file then goes into the job you open.`,
      no: "No: stay here",
      yes: `Open ${this.#titleOf(job)}`,
      mayAnswer: true,
      onYes: () => this.#openJob(job),
    };
  }

  #key(event: KeyboardEvent): void {
    this.#tones.wake();
    // While anything may be on, a key is for cutting and for nothing else.
    if (this.choosingKey && !mayBeOn(this.state) && footKey.mayBe(event.key)) {
      event.preventDefault();
      event.stopPropagation();
      this.#setFootKey(event.key);
      this.choosingKey = false;
      return;
    }
    const isWriting = isTextField(event.composedPath()[0]);
    const cutting = { mayBeOn: mayBeOn(this.state), footKey: this.footKey, isWriting };
    if (!isCutKey({ key: event.key, repeat: false }, cutting)) return;
    // Held down it repeats: cut once, and let no repeat press what has the focus.
    event.preventDefault();
    event.stopPropagation();
    if (isCutKey(event, cutting)) void this.#cut();
  }

  async #cut(): Promise<void> {
    this.#saySomething("Cut sent.", true);
    const answer = await this.#connection.cut();
    if (this.#cutSaid)
      this.#saySomething(answer.result === "refused" ? answer.because : "Cut sent, not yet proved.", true);
  }

  #saySomething(said: string, ofCut = false): void {
    this.said = said;
    this.#cutSaid = ofCut;
  }

  async #send(wish: Wish): Promise<void> {
    const answer = await this.#connection.send(wish);
    if (answer.result === "refused") this.#saySomething(answer.because);
  }

  async #askLease(): Promise<void> {
    this.#saySomething("Control was asked for; the other page answers.");
    const answer = await this.#connection.send({ type: "ask-lease" });
    this.#saySomething(answer.result === "refused" ? answer.because : "");
  }

  /** Asks something of the sweep; why it was refused stands with the sweep. */
  async #ask(wish: Wish): Promise<void> {
    const answer = await this.#connection.send(wish);
    this.sweepProblem = answer.result === "refused" ? answer.because : "";
  }

  async #coldSweep(): Promise<void> {
    const request = await this.#form()?.facts();
    if (request == null) this.place = "power";
    else await this.#ask({ type: "start-sweep", request: { ...request, job: this.job }, powered: null });
  }

  #form(): StartForm | null {
    return this.renderRoot.querySelector("start-form");
  }

  readonly #preview = (wish: Wish) => this.#connection.send(wish);

  readonly #onPickPlace = (event: CustomEvent<Place>): void => {
    this.place = event.detail;
  };

  readonly #onOpenJob = (event: CustomEvent<string>): void => this.#askOpen(event.detail);

  readonly #start = async (event: CustomEvent<Wish>): Promise<void> => {
    const answer = await this.#connection.send(event.detail);
    if (answer.result === "refused") this.#form()?.refused(answer.because);
  };

  #setFootKey(key: string | null): void {
    this.footKey = key;
    footKey.keep(key);
  }

  #setSound(on: boolean): void {
    this.sound = on;
    this.#sayAlarm(this.silenced);
    if (on) this.#tones.play("settled");
  }

  #sayAlarm(silenced: boolean): void {
    this.silenced = silenced;
    this.#tones.alarm(this.sound && !silenced && this.state.alarm !== null);
  }
}
customElements.define("bench-page", BenchPage);
