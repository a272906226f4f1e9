import { html, LitElement, nothing, type PropertyValues } from "lit";
import type { WireDown } from "../../../shared/wire.ts";
import type { SweepHow } from "../../../shared/wire-request.ts";
import { addressIn, hashOf } from "../../page/address.ts";
import { BenchConnection, type Wish } from "../../page/bench-connection.ts";
import { LitScreen } from "../../page/lit-screen.ts";
import { PageControl } from "../../page/page-control.ts";
import { PageKeys } from "../../page/page-keys.ts";
import { choose, speakFromStart } from "../../page/page-language.ts";
import { PageMark } from "../../page/page-mark.ts";
import { PageSound } from "../../page/page-sound.ts";
import { emptyState, mayBeOn, onlyFiguresDiffer, type PageState, received, unheard } from "../../page/page-state.ts";
import { powerState } from "../../page/power-state.ts";
import { settingNow } from "../../page/setting-now.ts";
import { spoken } from "../../page/spoken.ts";
import { type ToneName, toneFor } from "../../page/tone-for.ts";
import { TraceStore } from "../../page/trace-store.ts";
import { OpenJob, openingJob } from "../../record/open-job.ts";
import { isOn, isSweeping, openingPlace, type Place, placeMarks, placeTurnedTo } from "../../record/places.ts";
import { redrawAll } from "../../words/redraw.ts";
import { say } from "../../words/shell.ts";
import type { Language } from "../../words/words.ts";
import { baseStyle } from "../parts/base-style.ts";
import type { ColdParse } from "../power/cold-text.ts";
import { nulledText } from "../power/nulled-text.ts";
import type { StartForm } from "../power/start-form.ts";
import { benchPageStyle } from "./bench-page-style.ts";
import { dockQuestion, type OwnQuestion, openWhileOn } from "./dock-question.ts";
import { LiveFigures } from "./live-figures.ts";
import { type PlaceWishes, placePanels } from "./place-panels.ts";
import "./cut-dock.ts";
import "./mark-form.ts";
import "./feed-strip.ts";
import "./page-banners.ts";
import "./page-head.ts";
import "./places-bar.ts";
import "../power/power-view.ts";
import "./side-notes.ts";
import "../power/start-form.ts";

/** The rest of the page waits for the first figures, but no longer than this: a bench without instruments has none. */
const REST_MS = 500;
/** The interval at which ages of filed entries are looked at. */
const AGES_MS = 15_000;
/** Below this there is room for a strip of one line only. */
const SMALL = "(max-width: 56rem), (max-height: 34rem)";

/** The whole page: it holds the state, hands each part its share, and sends what the parts ask for. */
export class BenchPage extends LitElement {
  static override properties = {
    // Figures alone go to the strips and the trace; nothing else of the page is made anew for them.
    state: {
      state: true,
      hasChanged: (now: PageState, before?: PageState) => before === undefined || !onlyFiguresDiffer(before, now),
    },
    place: { state: true },
    cold: { state: true },
    said: { state: true },
    sweepProblem: { state: true },
    own: { state: true },
    small: { state: true },
    isPreparing: { state: true },
    shop: { state: true },
  };
  declare state: PageState;
  declare place: Place;
  declare cold: ColdParse;
  declare said: string;
  declare sweepProblem: string;
  declare own: OwnQuestion | null;
  declare small: boolean;
  /** True while a start is being confirmed. */
  declare isPreparing: boolean;
  /** True where this bench belongs to a shop. */
  declare shop: boolean;
  #opened = false;
  /** True where the address named a place or a job when the page was opened. */
  readonly #isNamed: boolean;
  #cutSaid = false;
  #restLater: ReturnType<typeof setTimeout> | undefined;
  readonly #job = new OpenJob(this);
  readonly #keys = new PageKeys(this, {
    mayBeOn: () => mayBeOn(this.state),
    onCut: () => void this.#cut(),
    onAny: () => this.#sound.wake(),
  });
  readonly #sound = new PageSound(this);
  readonly #store = new TraceStore();
  readonly #figures = new LiveFigures(
    () => this.renderRoot,
    () => this.state,
    () => this.#bringRest(),
  );
  readonly #screen = new LitScreen();
  readonly #mark = new PageMark();
  readonly #smallScreen = matchMedia(SMALL);
  readonly #connection = new BenchConnection({
    onMessage: (message) => this.#hear(message),
    onPhase: (phase, heardAtMs) => {
      const heardAt = new Date(Date.now() - (performance.now() - heardAtMs)).toISOString();
      this.state = unheard(this.state, phase, { heardAt, atMs: heardAtMs });
    },
  });
  readonly #control = new PageControl(this.#connection, {
    state: () => this.state,
    say: (text) => this.#saySomething(text),
    ask: (own) => {
      this.own = own;
    },
  });

  static override styles = [baseStyle, benchPageStyle];

  constructor() {
    super();
    this.state = emptyState;
    const { job, place } = addressIn(location.hash);
    this.place = place ?? "board";
    this.#isNamed = place !== null;
    this.#job.id = job;
    this.cold = { ok: true, cold: {} };
    this.said = "";
    this.sweepProblem = "";
    this.own = null;
    this.small = this.#smallScreen.matches;
    this.isPreparing = false;
    this.shop = false;
  }

  override connectedCallback(): void {
    super.connectedCallback();
    window.addEventListener("popstate", () => this.#onAddress());
    window.addEventListener("beforeunload", (event) => {
      if (this.state.phase === "live" && mayBeOn(this.state)) event.preventDefault();
    });
    this.#smallScreen.addEventListener("change", ({ matches }) => {
      this.small = matches;
    });
    setInterval(() => this.requestUpdate(), AGES_MS);
    speakFromStart(this.#redraw);
    void this.#job.read();
    void this.#connection.open();
  }

  override firstUpdated(): void {
    this.#restLater = setTimeout(this.#bringRest, REST_MS);
  }

  override updated(_changed: PropertyValues): void {
    this.#screen.keepOn(mayBeOn(this.state));
    this.#mark.show(powerState(this.state), this.#job.name);
    const hash = hashOf(this.#job.id, this.place);
    if (this.#opened && location.hash !== hash) history.pushState(null, "", hash);
  }

  override render() {
    const { state, place } = this;
    const job = this.#job;
    const keys = this.#keys;
    const expired = Object.values(job.sheet?.cold ?? {}).some((each) => each.expired !== null);
    const wide = place === "power" && !this.small && !this.isPreparing;
    return html`<div class="page">
      <page-head
        .state=${state}
        .jobName=${job.name}
        .sound=${this.#sound.on}
        .volume=${this.#sound.volume}
        .footKey=${keys.foot}
        .choosingKey=${keys.choosing}
        .mayChooseKey=${!mayBeOn(state)}
        @take-lease=${this.#wishes.takeControl}
        @ask-lease=${() => void this.#control.ask()}
        @release-lease=${() => void this.#control.giveUp()}
        @set-volume=${(event: CustomEvent<number>) => this.#sound.setVolume(event.detail)}
        @hear-tone=${(event: CustomEvent<ToneName>) => this.#sound.play(event.detail)}
        @toggle-sound=${() => this.#sound.setOn(!this.#sound.on)}
        @forget-key=${() => keys.setFoot(null)}
        @choose-key=${() => keys.toggleChoosing()}
        @choose-language=${(event: CustomEvent<Language>) => void choose(event.detail).then(this.#redraw)}
      ></page-head>
      <page-banners .state=${state} .silenced=${this.#sound.silenced} @silence-alarm=${() => this.#sound.silence()}></page-banners>
      <nav aria-label=${say("places.both")}><places-bar
        .place=${place}
        .marks=${placeMarks(state, job.id, job.round, expired)}
        .rounds=${job.rounds.length}
        .round=${job.round?.number ?? 0}
        .shop=${this.shop}
        @pick-place=${(event: CustomEvent<Place>) => this.#wishes.pickPlace(event.detail)}
        @pick-round=${(event: CustomEvent<number>) => job.lookAt(event.detail)}
      ></places-bar></nav>
      <div class="feeds" data-compact=${wide ? "no" : "yes"}>${this.#feeds(wide)}</div>
      <main data-whole=${place === "probe" && isSweeping(state) ? "yes" : "no"} @say-mark=${(event: CustomEvent<string | null>) => void this.#ask({ type: "mark", text: event.detail })}>
        <div class="work" role="tabpanel" tabindex="0" aria-label=${say(`place.${place}`)}>${this.#work()}</div>
        <div class="side" role="region" tabindex="0" aria-label=${say("beside")}>
          <side-notes .state=${state} .job=${job.id} .sheet=${job.sheet} .round=${job.rounds.at(-1) ?? null}>
            ${isOn(state) && !isSweeping(state) ? html`<mark-form .states=${state.board?.states ?? []} .inControl=${state.lease === "you"}></mark-form>` : nothing}
            ${job.id === null || !state.mayOperate ? nothing : html`<note-form .job=${job.id}></note-form>`}
            ${job.id === null || !state.mayOperate || state.phone === null ? nothing : html`<phone-card .phone=${state.phone} .job=${job.id} .jobName=${this.#titleOf} .inControl=${state.lease === "you"} .ask=${this.#wishes.ask}></phone-card>`}
          </side-notes>
          <glossary-card></glossary-card>
        </div>
      </main>
      <cut-dock
        .state=${state}
        .footKey=${keys.foot}
        .on=${mayBeOn(state)}
        .said=${this.said}
        .hasKeys=${keys.heard}
        .question=${dockQuestion(state, this.own)}
        .jobName=${isOn(state) && state.run?.job !== job.id ? this.#titleOf(state.run?.job ?? null) : ""}
        @ask-cut=${() => void this.#cut()}
        @ask-stop=${() => void this.#send({ type: "stop" })}
        @answer-dock=${this.#onAnswer}
      ></cut-dock>
      <div class="unseen" aria-live="polite">${spoken(state)}</div>
    </div>`;
  }

  /** Brings what no figure waits for. */
  readonly #bringRest = (): void => {
    clearTimeout(this.#restLater);
    void import("./places-later.ts");
  };

  readonly #redraw = (): void => {
    this.requestUpdate();
    redrawAll(this.renderRoot);
  };

  #feeds(wide: boolean) {
    const { state } = this;
    return state.bench?.feeds.map((feed) => {
      const known = state.feeds[feed.feed];
      return known === undefined
        ? nothing
        : html`<feed-strip ?compact=${!wide} .feed=${feed} .state=${known} .setting=${settingNow(state, feed.feed)} .heard=${state.phase === "live"} .resting=${state.run === null || state.run.outcome !== null}></feed-strip>`;
    });
  }

  #work() {
    const { state, place, cold, isPreparing, sweepProblem } = this;
    return placePanels(
      { state, place, job: this.#job, store: this.#store, cold, isPreparing, sweepProblem },
      this.#wishes,
    );
  }

  /** The callbacks of the places; one object, so that no part is made anew for a new function. */
  readonly #wishes: PlaceWishes = {
    openJob: (job) => this.#askOpen(job),
    pickPlace: (place) => {
      this.place = place;
    },
    takeControl: () => void this.#send({ type: "take-lease" }),
    coldSweep: (how) => void this.#coldSweep(how),
    nullLeads: () => this.#nullLeads(),
    coldChanged: (cold) => {
      this.cold = cold;
    },
    preview: (wish) => this.#connection.send(wish),
    ask: (wish) => this.#connection.send(wish),
    start: (wish) => void this.#start(wish),
    preparing: (is) => {
      this.isPreparing = is;
    },
    nothingFelt: () => this.#sound.play("nothing"),
    shopKnown: () => {
      this.shop = true;
    },
    saySweep: (said) => void this.#ask({ type: "say-sweep", ...said }),
  };

  readonly #onAnswer = (event: CustomEvent<boolean>): void => {
    const yes = event.detail;
    const { question, leaseAskedBy, leaseOfferedBy } = this.state;
    if (question !== null) void this.#send({ type: "answer", question: question.question, yes });
    else if (leaseOfferedBy !== null) void this.#control.accept(yes);
    else if (leaseAskedBy !== null) void this.#control.handOver(leaseAskedBy, yes);
    else {
      const { own } = this;
      this.own = null;
      if (yes) own?.onYes();
    }
  };

  #hear(message: WireDown): void {
    const tone = toneFor(this.state, message);
    if (tone !== null && tone !== "alarm") this.#sound.play(tone);
    const before = this.state;
    this.#store.take(message);
    this.state = received(before, message, performance.now());
    if (message.type === "frame") this.#figures.take();
    if (before.alarm?.message !== this.state.alarm?.message) this.#sound.alarm(this.state.alarm !== null);
    if (message.type === "snapshot" && !this.#opened) this.#open();
    else this.place = placeTurnedTo(before, this.state) ?? this.place;
    this.#followRun(before, message);
    if (message.type === "cut-proof") {
      this.#saySomething(say(message.output === "off" ? "cut.proved" : "cut.failed"), message.output !== "off");
    }
    this.#control.look();
    // The outcome of a cut is over once every output is known to be off.
    if (this.#cutSaid && mayBeOn(before) && !mayBeOn(this.state)) this.#saySomething("");
    if (message.type === "set-once" && before.setOnce === null) this.#openSetJob();
    if (message.type === "job-changed" && message.job === this.#job.id) void this.#job.read();
    if (message.type === "snapshot" && before.phase !== "live") void this.#job.read();
    // A rehearsal has a record of its own: the job that was open is not in it.
    if (before.phase === "live" && before.bench?.simulated !== this.state.bench?.simulated) this.#job.close();
  }

  /** A job and a place in the address are kept; otherwise those of what is on, or was last. */
  #open(): void {
    this.#opened = true;
    const { place } = addressIn(location.hash);
    if (place === null) this.place = openingPlace(this.state);
    const job = this.#job.id === null ? openingJob(this.state, place) : null;
    if (job !== null) this.#job.open(job);
    this.requestUpdate();
  }

  /** The job that is set once, where neither the address nor what is on names one. */
  #openSetJob(): void {
    const { setOnce } = this.state;
    if (!this.#isNamed && setOnce?.job != null && !isOn(this.state) && !isSweeping(this.state))
      this.#job.open(setOnce.job.id);
  }

  /** A run or a sweep that this page began without a job has opened one. */
  #followRun(before: PageState, message: WireDown): void {
    const { run } = this.state;
    const job = this.#job;
    if (message.type === "sweep" && job.id === null) job.open(message.sweep.job);
    if (message.type !== "run-state" || before.run?.run === message.run.run) return;
    if (run?.job != null && job.id === null) job.open(run.job);
    if (run?.job === job.id) this.#saySomething("");
  }

  #onAddress(): void {
    const { job, place } = addressIn(location.hash);
    if (place !== null) this.place = place;
    if (job !== null && job !== this.#job.id) this.#askOpen(job);
  }

  readonly #titleOf = (job: string | null): string => this.#job.titleOf(job, this.state.jobs);

  /** Opening a job while another's board is on is asked first. */
  #askOpen(job: string): void {
    const { state } = this;
    const of = state.run?.outcome === null ? state.run.job : null;
    if (!mayBeOn(state) || of === job || state.phase !== "live") return this.#job.open(job);
    this.own = openWhileOn({
      wanted: this.#titleOf(job),
      on: this.#titleOf(of),
      onYes: () => this.#job.open(job),
    });
  }

  async #cut(): Promise<void> {
    this.#saySomething(say("cut.sent"), true);
    const answer = await this.#connection.cut();
    if (this.#cutSaid) this.#saySomething(answer.result === "refused" ? answer.because : say("cut.unproved"), true);
  }

  #saySomething(said: string, ofCut = false): void {
    this.said = said;
    this.#cutSaid = ofCut;
  }

  async #send(wish: Wish): Promise<void> {
    const answer = await this.#connection.send(wish);
    if (answer.result === "refused") this.#saySomething(answer.because);
  }

  /** Asks something of the sweep; why it was refused stands with the sweep. */
  async #ask(wish: Wish): Promise<void> {
    const answer = await this.#connection.send(wish);
    this.sweepProblem = answer.result === "refused" ? answer.because : "";
  }

  async #nullLeads(): Promise<string> {
    return nulledText(await this.#connection.send({ type: "null-leads", job: this.#job.id }));
  }

  async #coldSweep(how?: SweepHow): Promise<void> {
    const request = await this.#form()?.facts();
    const more = how === undefined ? {} : { how };
    if (request == null) this.place = "power";
    else await this.#ask({ type: "start-sweep", request: { ...request, job: this.#job.id }, powered: null, ...more });
  }

  #form(): StartForm | null {
    return this.renderRoot.querySelector("start-form");
  }

  async #start(wish: Wish): Promise<void> {
    const answer = await this.#connection.send(wish);
    if (answer.result === "refused") this.#form()?.refused(answer.because);
  }
}
customElements.define("bench-page", BenchPage);
