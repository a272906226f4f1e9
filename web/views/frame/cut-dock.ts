import { html, LitElement, nothing } from "lit";
import { keyName } from "../../page/cut-key.ts";
import { needsWatch, onAgainIn, type PageState } from "../../page/page-state.ts";
import { type PowerState, powerState } from "../../page/power-state.ts";
import { untilBeat } from "../../page/shared-beat.ts";
import { say } from "../../words/shell.ts";
import { baseStyle } from "../parts/base-style.ts";
import { clockTime, duration } from "../parts/figures.ts";
import { ladder } from "../parts/ladder.ts";
import { stageName } from "../parts/stage-words.ts";
import { cutDockStyle } from "./cut-dock-style.ts";
import type { DockQuestion } from "./dock-question.ts";

const WORDS: Record<PowerState, () => string> = {
  on: () => say("word.on"),
  off: () => say("word.off"),
  between: () => say("word.between"),
  ending: () => "…",
  unknown: () => "?",
  "no-bench": () => "–",
};

/** A word for the cut that is longer than this is written smaller where there is little room. */
const LONG = 6;

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
  /** The outcome of the last cut. */
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
      this.#again = setTimeout(() => this.requestUpdate(), untilBeat());
    const keys = this.on && this.footKey !== null ? say("dock.foot", { key: keyName(this.footKey) }) : "Esc";
    return html`${this.question === null ? nothing : this.#asks(this.question)}
      <div class="dock" data-power=${power}>
        <div class="power" aria-hidden="true">${WORDS[power]()}</div>
        <div class="now">
          ${running ? this.#waiting(power) : html`<p class="stage">${state.phase === "lost" ? this.#lost() : power === "between" ? this.#between() : say(`state.${power}`)}</p>`}
          ${this.on && !this.hasKeys ? html`<p class="deaf"><b>⚠ ${say("dock.deaf")}</b></p>` : nothing}
          ${this.on && state.phase === "live" && state.lease === "nobody" && needsWatch(state) ? html`<p class="deaf"><b>⚠ ${say("dock.nobody")}</b></p>` : nothing}
          <p class="said" role="status">${this.said}</p>
        </div>
        ${(running || power === "between") && power !== "ending" && state.phase === "live" ? html`<button class="end" @click=${() => this.dispatchEvent(new CustomEvent("ask-stop"))}>${say("dock.end")}</button>` : nothing}
        <button class="cut" data-long=${say("dock.cut").length > LONG ? "yes" : "no"} ?disabled=${state.phase === "no-session"} @click=${() => this.dispatchEvent(new CustomEvent("ask-cut"))}>${say("dock.cut")}<small>${say("dock.keys", { keys })}</small></button>
      </div>`;
  }

  #between() {
    const seconds = onAgainIn(this.state, performance.now());
    return `${say("state.between")}${seconds === null ? "" : `: ${duration(Math.ceil(seconds) * 1000)}`}`;
  }

  #lost() {
    const { lastHeardAt } = this.state;
    return lastHeardAt === null ? say("dock.lost") : say("dock.lost.since", { time: clockTime(lastHeardAt) });
  }

  #waiting(power: PowerState) {
    const { run, phase, runArrivedAtMs, lostAtMs } = this.state;
    if (run === null) return nothing;
    const name = stageName(run.stage);
    const { expectedMs } = run;
    const waitedMs = run.waitedMs + (lostAtMs ?? performance.now()) - runArrivedAtMs;
    const shown = expectedMs === null ? waitedMs : Math.min(waitedMs, expectedMs);
    const waited = duration(shown);
    const key = expectedMs !== null && waitedMs > expectedMs ? "dock.longer" : "dock.times";
    const times = expectedMs === null ? waited : say("dock.times", { waited, expected: duration(expectedMs) });
    const told = expectedMs === null ? waited : say(key, { waited, expected: duration(expectedMs) });
    if (power === "ending" && phase === "live")
      return html`<p class="stage">${say("dock.ending")}</p><p class="waits">${say("state.ending")}.</p>`;
    return html`<p class="stage">${phase === "live" ? name : this.#lost()}</p>
      <p class="waits"><span class="what">${phase === "live" ? "" : `${say("dock.last", { stage: name })} `}${run.feed === null ? "" : `${run.feed}: `}<span lang="en">${run.waitingFor}</span></span><span class="times"> ${told}</span>${this.jobName === "" ? "" : html` <b>(${this.jobName})</b>`}</p>
      ${expectedMs === null ? nothing : html`<div class="progress" role="progressbar" aria-label="${name}: ${times}" aria-valuemin="0" aria-valuemax="100" aria-valuenow=${Math.round((100 * shown) / expectedMs)}>${ladder(shown / expectedMs, phase === "live" ? "full" : "rest")}</div>`}`;
  }

  #asks({ ask, because, no, yes, mayAnswer }: DockQuestion) {
    return html`<section class="question" role="alertdialog" aria-label=${say("dock.question")} aria-describedby="ask">
      <div class="words"><h2 id="ask">? ${ask}</h2><p class="told">${because}</p>
        ${mayAnswer ? nothing : html`<p class="small">${say("dock.others")}</p>`}</div>
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
