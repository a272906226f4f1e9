import { html, LitElement, nothing } from "lit";
import { keyName } from "../page/cut-key.ts";
import { onAgainIn, type PageState } from "../page/page-state.ts";
import { type PowerState, powerState } from "../page/power-state.ts";
import { baseStyle } from "./base-style.ts";
import { cutDockStyle } from "./cut-dock-style.ts";
import type { DockQuestion } from "./dock-question.ts";
import { clockTime, duration } from "./figures.ts";
import { ladder } from "./ladder.ts";
import { STAGE_WORDS } from "./stage-words.ts";

const STATES: Record<PowerState, { word: string; means: string }> = {
  on: { word: "ON", means: "An output is on" },
  off: { word: "OFF", means: "Nothing is on" },
  between: { word: "SOON", means: "Off now, but it switches on again without you. Hands off" },
  ending: { word: "…", means: "Switching off; not yet proved" },
  unknown: { word: "?", means: "An output is on, or may be on" },
  "no-bench": { word: "–", means: "No bench here: you can only look at the record" },
};

/** Often enough for a time in tenths of a second to be seen to count. */
const COUNT_MS = 250;

/** Always at the bottom, always the same: what is true of the bench, what is waited for, what is asked, and the cut. */
export class CutDock extends LitElement {
  static override properties = {
    state: { attribute: false },
    footKey: { attribute: false },
    on: { type: Boolean },
    said: { type: String },
    hasKeys: { type: Boolean },
    question: { attribute: false },
    jobName: { type: String },
  };
  declare state: PageState;
  /** null: none was chosen. */
  declare footKey: string | null;
  /** True while something is on or not known to be off. */
  declare on: boolean;
  /** What came of the last cut. */
  declare said: string;
  /** False while another window has the keyboard: no key of this page is heard then. */
  declare hasKeys: boolean;
  declare question: DockQuestion | null;
  /** The job of what is on, where it is not the one that is open. */
  declare jobName: string;
  #again: number | undefined;
  /** The question that was answered here; one that is asked again comes as another object. */
  #answered: DockQuestion | null = null;

  static override styles = [baseStyle, cutDockStyle];

  constructor() {
    super();
    this.footKey = null;
    this.on = false;
    this.said = "";
    this.hasKeys = true;
    this.question = null;
    this.jobName = "";
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    clearTimeout(this.#again);
  }

  override render() {
    const { state } = this;
    const power = powerState(state);
    const running = state.run !== null && state.run.outcome === null;
    clearTimeout(this.#again);
    // Counted only while there is something to count, and while the daemon is heard.
    if ((running || power === "between") && state.phase === "live")
      this.#again = setTimeout(() => this.requestUpdate(), COUNT_MS);
    const keys = this.on && this.footKey !== null ? `Esc or ${keyName(this.footKey)}` : "Esc";
    return html`${this.question === null ? nothing : this.#asks(this.question)}
      <div class="dock" data-power=${power}>
        <div class="power" aria-hidden="true">${STATES[power].word}</div>
        <div class="now">
          ${running ? this.#waiting(power) : html`<p class="stage">${state.phase === "lost" ? this.#lost() : power === "between" ? this.#between() : STATES[power].means}</p>`}
          ${this.on && !this.hasKeys ? html`<p class="deaf"><b>⚠ The keyboard is with another window: no key cuts now. Click this page.</b></p>` : nothing}
          <p class="said" role="status">${this.said}</p>
        </div>
        ${(running || power === "between") && power !== "ending" && state.phase === "live" ? html`<button class="end" @click=${() => this.dispatchEvent(new CustomEvent("ask-stop"))}>End in order</button>` : nothing}
        <button class="cut" ?disabled=${state.phase === "no-session"} @click=${() => this.dispatchEvent(new CustomEvent("ask-cut"))}>CUT<small>all off now: ${keys}</small></button>
      </div>`;
  }

  #between() {
    const seconds = onAgainIn(this.state, performance.now());
    return `${STATES.between.means}${seconds === null ? "" : `: ${duration(Math.ceil(seconds) * 1000)}`}`;
  }

  #lost() {
    return `Out of hearing${this.state.lastHeardAt === null ? "" : ` since ${clockTime(this.state.lastHeardAt)}`}. Hands off.`;
  }

  #waiting(power: PowerState) {
    const { run, phase, runArrivedAtMs, lostAtMs } = this.state;
    if (run === null) return nothing;
    const name = STAGE_WORDS[run.stage].name;
    const { expectedMs } = run;
    const waitedMs = run.waitedMs + (lostAtMs ?? performance.now()) - runArrivedAtMs;
    const shown = expectedMs === null ? waitedMs : Math.min(waitedMs, expectedMs);
    const times = expectedMs === null ? duration(shown) : `${duration(shown)} of about ${duration(expectedMs)}`;
    const over = expectedMs !== null && waitedMs > expectedMs ? ", longer than usual" : "";
    if (power === "ending" && phase === "live")
      return html`<p class="stage">Ending</p><p class="waits">${STATES.ending.means}.</p>`;
    return html`<p class="stage">${phase === "live" ? name : this.#lost()}</p>
      <p class="waits">${phase === "live" ? "" : `last word: ${name} `}${run.feed === null ? "" : `${run.feed}: `}${run.waitingFor}<span class="times"> ${times}${over}</span>${this.jobName === "" ? "" : html` <b>(${this.jobName})</b>`}</p>
      ${expectedMs === null ? nothing : html`<div class="progress" role="progressbar" aria-label="${name}: ${times}" aria-valuemin="0" aria-valuemax="100" aria-valuenow=${Math.round((100 * shown) / expectedMs)}>${ladder(shown / expectedMs, phase === "live" ? "full" : "rest")}</div>`}`;
  }

  #asks({ ask, because, no, yes, mayAnswer }: DockQuestion) {
    return html`<section class="question" role="alertdialog" aria-label="Question" aria-describedby="ask">
      <div class="words"><h2 id="ask">? ${ask}</h2><p class="told">${because}</p>
        ${mayAnswer ? nothing : html`<p class="small">Only the page in control can answer.</p>`}</div>
      <div class="answers">
        <button class="no" ?disabled=${!mayAnswer} @click=${() => this.#answer(false)}>${no}</button>
        <button class="yes" ?disabled=${!mayAnswer} @click=${() => this.#answer(true)}>${yes}</button>
      </div>
    </section>`;
  }

  /** Once: a second press before the page is drawn again would answer twice. */
  #answer(yes: boolean): void {
    if (this.#answered === this.question) return;
    this.#answered = this.question;
    this.dispatchEvent(new CustomEvent("answer-dock", { detail: yes }));
  }
}
customElements.define("cut-dock", CutDock);
