import { html, LitElement, nothing } from "lit";
import type { SweepRail, SweepWord } from "../../../shared/sweep.ts";
import type { WireBoard } from "../../../shared/wire-board.ts";
import { ohmsIn } from "../../../shared/words/ohms-text.ts";
import { voltsIn } from "../../../shared/words/volts-text.ts";
import { keyName } from "../../page/cut-key.ts";
import { SWEEP_KEYS, wordFor } from "../../page/sweep-keys.ts";
import type { SweepShown } from "../../page/sweep-shown.ts";
import { baseStyle } from "../parts/base-style.ts";
import { classInSentence } from "../parts/draw-words.ts";
import { duration } from "../parts/figures.ts";
import { problem } from "../parts/problem.ts";
import { limitsText, railVerdict, valueText } from "../parts/rail-words.ts";
import { probeStyle } from "./probe-style.ts";
import "./alike-card.ts";
import "./group-choice.ts";
import "../frame/mark-form.ts";
import "./board-picture.ts";
import "./power-tree.ts";
import "./rail-list.ts";
import { say } from "../../words/probe.ts";
import { say as sayShell } from "../../words/shell.ts";

/** The value that was taken, with its sign, until the probe lifts. */
const taking = (rail: SweepRail) => {
  const { mark, word, tone } = railVerdict(rail);
  return html`<p class="rail" role="status">${rail.rail}</p>
    <div class="reading taken" data-tone=${tone}>
      <span class="value">${mark} ${valueText(rail)}</span><span class="motion">${say("lift", { verdict: word })}</span>
    </div>`;
};

/** A reading that is older is no live reading. */
const FRESH_MS = 1_000;
/** A rail without a contact for this long, with the probe placed, is dead. */
const DEAD_MS = 3_000;

/** A person's word to a sweep: a word, or a value read off another meter. It is meant for one rail and no other. */
export type SweepSaid =
  | { says: { word: SweepWord }; rail: string | null }
  | { says: { value: number | "open" }; rail: string };

/** The sweep as both hands need it: which rail, where, what it reads now, all of it to be read from the probes. */
export class ProbeView extends LitElement {
  static override properties = {
    sweep: { attribute: false },
    board: { attribute: false },
    inControl: { type: Boolean },
    mayStart: { type: Boolean },
    live: { type: Boolean },
    problem: { type: String },
    mayMark: { type: Boolean },
  };
  /** null: none yet of the job that is open. */
  declare sweep: SweepShown | null;
  declare board: WireBoard | null;
  declare inControl: boolean;
  declare mayStart: boolean;
  /** False while the daemon is out of hearing. */
  declare live: boolean;
  declare problem: string;
  /** True where points may be marked on the photographs. */
  declare mayMark: boolean;
  #again: number | undefined;
  /** When the point was named that nothing was felt at, and told so. */
  #toldAtMs = 0;

  static override styles = [baseStyle, probeStyle];

  readonly #onKey = (event: KeyboardEvent): void => this.#key(event);

  constructor() {
    super();
    this.sweep = null;
    this.inControl = false;
    this.mayStart = false;
    this.live = false;
    this.board = null;
    this.problem = "";
    this.mayMark = false;
  }

  override connectedCallback(): void {
    super.connectedCallback();
    window.addEventListener("keydown", this.#onKey);
  }

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    window.removeEventListener("keydown", this.#onKey);
    clearTimeout(this.#again);
  }

  override render() {
    const { sweep } = this;
    return html`${problem(this.problem)}
      ${sweep !== null && sweep.done === null ? this.#running(sweep) : html`<slot name="next"></slot>${this.#idle(sweep)}`}`;
  }

  #idle(sweep: SweepShown | null) {
    return html`<div class="idle">
      <section class="card stack" aria-label=${say("begin")}>
        <h2>${say("heading")}</h2>
        <p>${say("how")}</p>
        ${this.inControl ? nothing : html`<div class="row"><button class="main" @click=${() => this.#ask("take-control")}>${sayShell("control.take")}</button></div>`}
        <div class="row">
          <button ?disabled=${!this.mayStart || !this.inControl} @click=${() => this.#ask("ask-cold-sweep")}>${say("cold")}</button>
          <button @click=${() => this.dispatchEvent(new CustomEvent("pick-place", { detail: "power" }))}>${say("powered")}</button>
        </div>
        <group-choice .groups=${this.board?.groups ?? {}} .mayStart=${this.mayStart && this.inControl}></group-choice>
      </section>
      ${
        sweep === null
          ? nothing
          : html`<section class="card stack last" aria-label=${say("last.label")}>
              <h2>${say("last", { ended: say(`ended.${sweep.done?.ended ?? "stopped"}`) })}</h2>
              ${sweep.done?.because.map((sentence) => html`<p lang="en">${sentence}</p>`)}
              ${sweep.done?.neverPower.map((sentence) => html`<p class="problem" lang="en">✕ ${sentence}</p>`)}
              <alike-card .alike=${sweep.done?.alike ?? null} .railAmps=${sweep.done?.railAmps ?? []}></alike-card>
              <rail-list .rails=${sweep.rails}></rail-list>
            </section>`
      }
      ${this.#pictures("", sweep?.rails ?? [])}
    </div>
    <slot name="host"></slot>`;
  }

  #pictures(at: string, rails: readonly SweepRail[]) {
    const { board } = this;
    if (board === null || (board.tree.length === 0 && board.photos.length === 0)) return nothing;
    return html`<section class="card stack pictures" aria-label=${say("board")}>
      ${board.photos.length === 0 ? nothing : html`<board-picture .photos=${board.photos} .at=${at} .points=${this.mayMark ? board.tree.map((each) => each.name) : []}></board-picture>`}
      <power-tree .tree=${board.tree} .rails=${rails} .at=${at}></power-tree>
    </section>`;
  }

  #running(sweep: SweepShown) {
    const { place, reading, taken } = sweep;
    const nowMs = performance.now();
    const fresh = this.live && reading !== null && nowMs - sweep.readAtMs < FRESH_MS;
    const lifted = reading === null || reading.motion === "lifted" || !fresh;
    const waitsLong = place !== null && lifted && this.live && nowMs - sweep.placedAtMs > DEAD_MS;
    if (waitsLong && this.#toldAtMs !== sweep.placedAtMs) {
      this.#toldAtMs = sweep.placedAtMs;
      this.dispatchEvent(new CustomEvent("nothing-felt"));
    }
    this.#lookAgain([sweep.readAtMs + FRESH_MS - nowMs, sweep.placedAtMs + DEAD_MS - nowMs]);
    const unit = place?.quantity === "ohms" ? "Ω" : "V";
    const should = place === null ? "" : this.#should(place, unit);
    return html`<div class="running">
      <section class="card stack" aria-label=${say("now")} data-live=${fresh ? "yes" : "no"}>
        ${
          taken !== null && place === null
            ? taking(taken)
            : place === null
              ? html`<p class="rail">${say(sweep.cooling === null ? "wait" : "cooling")}</p>
                  <p class="point" role="status">${sweep.cooling === null ? say("rising") : html`<span lang="en">${sweep.cooling.because}</span> ${say("again", { time: duration(sweep.cooling.secondsLeft * 1000) })}`}</p>`
              : html`<p class="rail" role="status" data-rail=${place.rail}>${place.rail}<span class="unseen">: ${place.point}</span></p>
                  <p class="point" aria-hidden="true">${place.point}</p>
                  <div class="reading">
                    ${
                      lifted
                        ? html`<span class="place">${say(fresh || reading === null ? "place" : "not-live")}</span><span class="motion">${should}</span>`
                        : html`<span class="value">${valueText(reading)}</span><span class="motion">${say(`motion.${reading.motion}`)}</span>`
                    }
                  </div>
                  <p class="soft">${lifted ? "" : `${should}; `}${say("left", { count: place.left })}</p>
                  ${waitsLong ? html`<p class="point">${say("dead")}</p>` : nothing}`
        }
        ${sweep.question === null ? nothing : html`<p class="question" role="alert"><b>?</b> <span lang="en">${sweep.question.because}</span>${sweep.question.fits === null ? "" : ` ${say("question.fits", { rail: sweep.question.fits })}`} ${say("question.again")}</p>`}
        ${sweep.hint === null ? nothing : html`<p class="point" lang="en">${sweep.hint}</p>`}
        <div class="row">
          ${SWEEP_KEYS.map(({ word, shown }) => html`<button ?disabled=${!this.inControl || place === null} @click=${() => this.#say(word)}>${say(`key.${word}`)}<kbd>${keyName(shown)}</kbd></button>`)}
          <button ?disabled=${!this.inControl} @click=${() => this.#say("stop")}>${say("stop")}</button>
        </div>
        ${place === null ? nothing : this.#typed(place.rail, unit)}
        ${sweep.cold ? nothing : html`<mark-form .states=${this.board?.states ?? []} .inControl=${this.inControl}></mark-form>`}
      </section>
      ${this.#pictures(place?.rail ?? taken?.rail ?? "", sweep.rails)}
      <div class="rails">
        <section class="card" aria-label=${say("rails")}>
          <h2>${say("taken", { count: sweep.rails.length })}${sweep.draw === null ? "" : html`; ${say("draw")} ${classInSentence(sweep.draw.class)}`}</h2>
          <rail-list .rails=${sweep.rails}></rail-list>
        </section>
      </div>
    </div>`;
  }

  /** The reading that the point should give: within its limits, or the same as the others of its group. */
  #should({ rail, limits }: NonNullable<SweepShown["place"]>, unit: string): string {
    const groups = Object.entries(this.board?.groups ?? {});
    const [group] = groups.find(([, points]) => points.includes(rail)) ?? [];
    return group === undefined ? say("should", { limits: limitsText(limits, unit) }) : say("as-others", { group });
  }

  /** Looked at again once a reading is no live one, or nothing was felt for long. */
  #lookAgain(inMs: number[]): void {
    clearTimeout(this.#again);
    const ahead = inMs.filter((each) => each > 0);
    if (ahead.length > 0) this.#again = setTimeout(() => this.requestUpdate(), Math.min(...ahead) + 5);
  }

  #typed(rail: string, unit: string) {
    return html`<form class="row" @submit=${(event: SubmitEvent) => this.#type(event, rail, unit)}>
      <label class="row"><span class="label">${say("typed", { unit })}</span>
        <input type="text" name="typed" autocomplete="off" class="short" /></label>
      <button type="submit" ?disabled=${!this.inControl}>${say("file")}</button>
    </form>`;
  }

  #type(event: SubmitEvent, rail: string, unit: string): void {
    event.preventDefault();
    const form = event.target as HTMLFormElement;
    const text = String(new FormData(form).get("typed") ?? "").trim();
    const value = unit === "Ω" ? ohmsIn(text) : voltsIn(text);
    this.problem = value === null ? say("wrong", { text, unit }) : "";
    if (value === null) return;
    form.reset();
    this.#send({ says: { value }, rail });
  }

  #key(event: KeyboardEvent): void {
    const { sweep } = this;
    if (this.hidden || !this.inControl || sweep === null || sweep.done !== null || sweep.place === null) return;
    const focus = event.composedPath()[0];
    const element = focus instanceof Element ? focus : null;
    const word = wordFor(event, { tag: element?.tagName ?? "", role: element?.getAttribute("role") ?? null });
    if (word === null) return;
    event.preventDefault();
    this.#say(word);
  }

  #say(word: SweepWord): void {
    this.#send({ says: { word }, rail: this.sweep?.place?.rail ?? null });
  }

  #send(said: SweepSaid): void {
    this.dispatchEvent(new CustomEvent("say-sweep", { detail: said }));
  }

  #ask(name: "take-control" | "ask-cold-sweep"): void {
    this.dispatchEvent(new CustomEvent(name));
  }
}
customElements.define("probe-view", ProbeView);
