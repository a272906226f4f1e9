import { css, html, LitElement, nothing } from "lit";
import type { WireDown, WireStageFeed } from "../shared/wire.ts";
import { baseStyle } from "./base-style.ts";
import { BenchConnection, type Wish } from "./bench-connection.ts";
import { isCutKey, keyName } from "./cut-key.ts";
import { CLASS_WORDS, nextSteps } from "./next-step.ts";
import { emptyState, mayBeOn, type PageState, received, unheard } from "./page-state.ts";
import type { StartForm } from "./start-form.ts";
import { toneFor } from "./tone-for.ts";
import { Tones } from "./tones.ts";
import { TraceStore } from "./trace-store.ts";
import "./cut-dock.ts";
import "./feed-figures.ts";
import "./permit-list.ts";
import "./question-card.ts";
import "./run-trace.ts";
import "./stage-ribbon.ts";
import "./start-form.ts";
import "./verdict-card.ts";

/** Often enough for an age in tenths of a second to count up. */
const TICK_MS = 100;
const FOOT_KEY = "firstamp-foot-key";

const PHASES: Record<PageState["phase"], { mark: string; text: string }> = {
  connecting: { mark: "…", text: "connecting" },
  live: { mark: "●", text: "live" },
  lost: { mark: "✕", text: "daemon out of hearing, trying again" },
  "no-session": { mark: "✕", text: "this page has no session" },
  "other-protocol": { mark: "✕", text: "this page and the daemon do not fit" },
};

/** The whole page: it holds the state, hands each part its share, and sends what the parts ask for. */
export class BenchPage extends LitElement {
  static override properties = {
    state: { state: true },
    picked: { state: true },
    footKey: { state: true },
    choosingKey: { state: true },
    sound: { state: true },
    said: { state: true },
    beat: { state: true },
  };
  declare state: PageState;
  /** The feed to draw where the person chose one; otherwise the run's own. */
  declare picked: string | null;
  declare footKey: string;
  declare choosingKey: boolean;
  declare sound: boolean;
  declare said: string;
  declare beat: number;
  readonly #store = new TraceStore();
  readonly #tones = new Tones();
  readonly #connection = new BenchConnection({
    onMessage: (message) => this.#hear(message),
    onPhase: (phase) => {
      this.state = unheard(this.state, phase);
    },
  });

  static override styles = [
    baseStyle,
    css`
      .page {
        display: grid;
        grid-template-rows: auto auto auto minmax(0, 1fr) auto;
        height: 100dvh;
      }
      .head {
        display: flex;
        flex-wrap: wrap;
        align-items: center;
        gap: 0.3rem 1.2rem;
        padding: 0.45rem 1rem;
        border-bottom: 1px solid var(--hair);
      }
      h1 {
        margin: 0;
        font-size: 1.25rem;
        letter-spacing: -0.01em;
      }
      .badge {
        padding: 0.05rem 0.5rem;
        border: 1px solid var(--line);
        border-radius: 99px;
      }
      .spread {
        flex: 1;
      }
      .head button {
        min-height: 2rem;
        padding: 0.1rem 0.7rem;
        border-width: 1px;
      }
      .phase[data-phase="lost"],
      .phase[data-phase="no-session"],
      .phase[data-phase="other-protocol"] {
        padding: 0.05rem 0.5rem;
        border-radius: 6px;
        background: var(--warn-fill);
        border: 2px dashed var(--warn);
        color: var(--warn);
        font-weight: 700;
      }
      .banner {
        padding: 0.7rem 1rem;
        background: var(--warn-fill);
        border-bottom: 3px solid var(--warn);
      }
      .alarm {
        padding: 0.7rem 1rem;
        background: var(--stop);
        color: var(--on-stop);
        font-size: 1.5rem;
        font-weight: 800;
        line-height: 1.25;
      }
      .ribbon {
        padding: 0.6rem 1rem 0.5rem;
      }
      .main {
        display: grid;
        grid-template-columns: minmax(0, 1fr) minmax(20rem, 25rem);
        min-height: 0;
        gap: 0.8rem;
        padding: 0 1rem 0.7rem;
      }
      .bench {
        display: grid;
        grid-template-rows: auto minmax(0, 1fr);
        gap: 0.7rem;
        min-height: 0;
      }
      .feeds {
        display: grid;
        grid-template-columns: repeat(auto-fit, minmax(min(100%, 15.5rem), 1fr));
        gap: 0.7rem;
      }
      .job {
        overflow-y: auto;
        display: grid;
        align-content: start;
        gap: 0.7rem;
        scrollbar-gutter: stable;
      }
      .next {
        border-left: 6px solid var(--calm);
      }
      .next ol {
        counter-reset: step;
        display: grid;
        gap: 0.3rem;
        margin-top: 0.3rem;
      }
      .next li {
        counter-increment: step;
        display: grid;
        grid-template-columns: 1.3rem minmax(0, 1fr);
        font-size: 1.0625rem;
      }
      .next li::before {
        content: counter(step) ".";
        font-weight: 700;
      }
      summary {
        min-height: 1.75rem;
        cursor: pointer;
        font-weight: 700;
      }
      .warning::before {
        content: "⚠ ";
        color: var(--warn);
      }
      .log li,
      .jobs li {
        border-top: 1px solid var(--hair);
        padding: 0.2rem 0;
        overflow-wrap: anywhere;
      }
      @media (max-width: 56rem), (max-height: 34rem) {
        .page {
          height: auto;
          min-height: 100dvh;
        }
        .main {
          grid-template-columns: minmax(0, 1fr);
        }
        .bench {
          grid-template-rows: auto 22rem;
        }
        cut-dock {
          position: sticky;
          bottom: 0;
          z-index: 2;
        }
      }
    `,
  ];

  constructor() {
    super();
    this.state = emptyState;
    this.picked = null;
    this.footKey = localStorage.getItem(FOOT_KEY) ?? " ";
    this.choosingKey = false;
    this.sound = true;
    this.said = "";
    this.beat = 0;
  }

  override connectedCallback(): void {
    super.connectedCallback();
    // Before every other listener: nothing on the page can swallow the cut.
    window.addEventListener("keydown", (event) => this.#key(event), { capture: true });
    window.addEventListener("pointerdown", () => this.#tones.wake(), { capture: true });
    setInterval(() => {
      this.beat += 1;
    }, TICK_MS);
    void this.#connection.open();
  }

  override render() {
    const { state } = this;
    const steers = state.phase === "live";
    return html`<div class="page">
      ${this.#head()}
      <div>${this.#banners()}</div>
      <nav class="ribbon" aria-label="Progress"><stage-ribbon .run=${state.run}></stage-ribbon></nav>
      <main class="main">
        <div class="bench">
          <div class="feeds">${this.#feeds()}</div>
          <run-trace
            .store=${this.#store}
            .run=${state.run}
            .feed=${this.#drawn()}
            .feeds=${state.bench?.feeds.map((feed) => feed.feed) ?? []}
            .version=${this.#store.version}
            @pick-feed=${(event: CustomEvent<string>) => {
              this.picked = event.detail;
            }}
          ></run-trace>
        </div>
        <div class="job" tabindex="0" role="region" aria-label="The job">${this.#job(steers)}</div>
      </main>
      <cut-dock
        .run=${state.run}
        .waitedMs=${(state.run?.waitedMs ?? 0) + performance.now() - state.runArrivedAtMs}
        .footKey=${this.footKey}
        .on=${mayBeOn(state)}
        .said=${this.said}
        @ask-cut=${() => void this.#cut()}
        @ask-stop=${() => void this.#send({ type: "stop" })}
      ></cut-dock>
      <div class="unseen" aria-live="polite">${this.#spoken()}</div>
    </div>`;
  }

  #head() {
    const { state } = this;
    const phase = PHASES[state.phase];
    return html`<header class="head">
      <h1>firstamp</h1>
      <span>${state.board?.name ?? ""}</span>
      ${state.bench?.simulated === true ? html`<span class="badge small">simulated bench</span>` : nothing}
      <span class="spread"></span>
      <span class="phase" data-phase=${state.phase} role="status">${phase.mark} ${phase.text}</span>
      ${state.phase === "live" ? this.#control() : nothing}
      <button aria-pressed=${this.sound} @click=${() => this.#setSound(!this.sound)}>Tones: ${this.sound ? "on" : "off"}</button>
      <button aria-pressed=${this.choosingKey} ?disabled=${mayBeOn(state)} @click=${() => {
        this.choosingKey = !this.choosingKey;
      }}>
        ${this.choosingKey ? "Press the foot switch now" : `Foot key: ${keyName(this.footKey)}`}
      </button>
    </header>`;
  }

  #control() {
    const { lease, mayOperate } = this.state;
    if (lease === "you") {
      return html`<span><b>In control</b></span><button @click=${() => void this.#send({ type: "release-lease" })}>Hand back</button>`;
    }
    if (lease === "other") return html`<span>another page is in control</span>`;
    if (!mayOperate) return html`<span>this page watches</span>`;
    return html`<button @click=${() => void this.#send({ type: "take-lease" })}>Take control</button>`;
  }

  #banners() {
    const { state } = this;
    const banners: Partial<Record<PageState["phase"], string>> = {
      lost: "The daemon does not answer. The figures below are old. If in doubt, switch the supply off by its own switch.",
      "no-session":
        "This address was used already or is too old. Open the one that the daemon prints; it prints a new one when Enter is pressed there.",
      "other-protocol":
        "This page and the daemon are of different versions. Nothing here works; load the page again, or start the daemon anew.",
    };
    const banner = banners[state.phase];
    return html`${
      state.alarm === null
        ? nothing
        : html`<div class="alarm" role="alert">⚠ ${state.alarm.message} Switch the supply off by its own switch, now.</div>`
    }
    ${banner === undefined ? nothing : html`<p class="banner" role="alert"><b>✕ ${banner}</b></p>`}`;
  }

  #feeds() {
    const { state } = this;
    const nowMs = performance.now();
    return state.bench?.feeds.map((feed) => {
      const known = state.feeds[feed.feed];
      return known === undefined
        ? nothing
        : html`<feed-figures .feed=${feed} .state=${known} .limits=${limitsNow(state, feed.feed)} .heard=${state.phase === "live"} .nowMs=${nowMs} .clockMs=${Date.now()}></feed-figures>`;
    });
  }

  #job(steers: boolean) {
    const { state } = this;
    const running = state.run !== null && state.run.outcome === null;
    return html`
      ${
        state.question === null || !steers
          ? nothing
          : html`<question-card .question=${state.question} .mayAnswer=${state.lease === "you"} @answer-question=${this.#answer}></question-card>`
      }
      ${
        state.verdict === null && state.run?.outcome == null
          ? nothing
          : html`<verdict-card .verdict=${state.verdict?.verdict ?? null} .outcome=${state.run?.outcome ?? null}></verdict-card>`
      }
      <section class="card next" aria-label="What to do next">
        <h2>What to do next</h2>
        <ol>
          ${nextSteps(state).map((step) => html`<li>${step}</li>`)}
        </ol>
      </section>
      <start-form
        ?hidden=${!steers || running}
        .board=${state.board}
        .inControl=${state.lease === "you"}
        .ask=${(wish: Wish) => this.#connection.send(wish)}
        @take-control=${() => void this.#send({ type: "take-lease" })}
        @ask-start=${this.#start}
      ></start-form>
      ${
        state.permit === null
          ? nothing
          : html`<details class="card" ?open=${running}>
              <summary>Permit: ${state.permit.granted ? "✓ granted" : "✕ not granted"}</summary>
              <permit-list .permit=${state.permit}></permit-list>
            </details>`
      }
      ${this.#background()}
    `;
  }

  #background() {
    const { bench, jobs, log } = this.state;
    return html`<details class="card small">
        <summary>Instruments${bench !== null && bench.warnings.length > 0 ? `: ⚠ ${bench.warnings.length}` : ""}</summary>
        <ul>
          ${bench?.warnings.map((warning) => html`<li class="warning">${warning}</li>`)}
          ${bench?.instruments.map((each) => html`<li><b>${each.name}</b> ${each.connected ? (each.identity ?? "") : "not connected"}, ${each.address}</li>`)}
        </ul>
      </details>
      <details class="card small">
        <summary>Jobs: ${jobs.length}</summary>
        <ul class="jobs">
          ${jobs.map((job) => html`<li><b>${job.title}</b><br />${job.class === null ? "no verdict" : CLASS_WORDS[job.class]}, ${new Date(job.startedAt).toLocaleString()}</li>`)}
        </ul>
      </details>
      <details class="card small">
        <summary>Log</summary>
        <ul class="log">
          ${log.toReversed().map((line) => html`<li>${line.level === "info" ? "" : html`<b>${line.level}</b> `}${line.text}</li>`)}
        </ul>
      </details>`;
  }

  /** What a screen reader is told of the run as it goes on. */
  #spoken(): string {
    const { run, verdict } = this.state;
    if (verdict !== null) return `Verdict: ${CLASS_WORDS[verdict.verdict.class]}`;
    if (run?.outcome?.trip != null) return `Cut: ${run.outcome.trip.because}`;
    return run === null || run.outcome !== null ? "" : `${run.stage} ${run.feed ?? ""}: ${run.waitingFor}`;
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
    this.state = received(this.state, message, performance.now());
    if ((before.alarm === null) !== (this.state.alarm === null))
      this.#tones.alarm(this.sound && this.state.alarm !== null);
    if (message.type === "run-state" && before.run?.run !== message.run.run) {
      this.said = "";
      this.#form()?.reset();
    }
  }

  #key(event: KeyboardEvent): void {
    this.#tones.wake();
    // While anything may be on, a key is for cutting and for nothing else.
    if (
      this.choosingKey &&
      !mayBeOn(this.state) &&
      !isModifier(event.key) &&
      event.key !== "Tab" &&
      event.key !== "Escape"
    ) {
      event.preventDefault();
      event.stopPropagation();
      this.footKey = event.key;
      localStorage.setItem(FOOT_KEY, event.key);
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
    this.said = (await this.#connection.cut())
      ? "Cut taken by the bench. What is true of the outputs stands with each feed."
      : "The cut did not get through. Switch the supply off by its own switch, now.";
  }

  async #send(wish: Wish): Promise<void> {
    const answer = await this.#connection.send(wish);
    if (answer.result === "refused") this.said = answer.because;
  }

  readonly #answer = (event: CustomEvent<{ question: number; yes: boolean }>): void => {
    void this.#send({ type: "answer", ...event.detail });
  };

  readonly #start = async (event: CustomEvent<Extract<Wish, { type: "start-run" }>>): Promise<void> => {
    const answer = await this.#connection.send(event.detail);
    if (answer.result === "refused") this.#form()?.refused(answer.because);
  };

  #form(): StartForm | null {
    return this.renderRoot.querySelector("start-form");
  }

  #setSound(on: boolean): void {
    this.sound = on;
    this.#tones.alarm(on && this.state.alarm !== null);
    if (on) this.#tones.play("settled");
  }
}
customElements.define("bench-page", BenchPage);

/** The limits in force on a feed: those of the last stage it began and has not left. */
function limitsNow(state: PageState, feed: string): WireStageFeed | null {
  if (state.run === null || state.run.outcome !== null) return null;
  return (
    state.run.stages
      .flatMap((stage) => stage.feeds)
      .findLast((each) => each.feed === feed && each.startedAtMs !== null && each.endedAtMs === null) ?? null
  );
}

const isModifier = (key: string): boolean => ["Shift", "Control", "Alt", "Meta"].includes(key);
