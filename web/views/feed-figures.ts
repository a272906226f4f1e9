import { css, html, LitElement, nothing } from "lit";
import type { WireFeed, WireStageFeed } from "../../shared/wire.ts";
import { freshness } from "../page/freshness.ts";
import type { FeedState } from "../page/page-state.ts";
import { baseStyle } from "./base-style.ts";
import { ampsText, duration, fixed, voltsText } from "./figures.ts";

const OUTPUT_WORDS = { on: "ON", off: "off", unknown: "not known" };
const MODE_WORDS = {
  cv: { short: "CV", long: "holds its volts" },
  cc: { short: "CC", long: "at its current limit" },
  unknown: { short: "CV/CC?", long: "not told by the supply" },
  none: { short: "–", long: "no regulation while off" },
};

/** The live figures of one feed, to be read from 1.5 m; a figure that is not live says so in words, shape and shade. */
export class FeedFigures extends LitElement {
  static override properties = {
    feed: { attribute: false },
    state: { attribute: false },
    limits: { attribute: false },
    heard: { type: Boolean },
    nowMs: { type: Number },
    clockMs: { type: Number },
    compact: { type: Boolean, reflect: true },
  };
  declare feed: WireFeed;
  declare state: FeedState;
  /** The limits in force, null while none are. */
  declare limits: WireStageFeed | null;
  /** False while the daemon is out of hearing: nothing is live then, however young. */
  declare heard: boolean;
  declare nowMs: number;
  /** Wall clock of `nowMs`, for the time of the last reading. */
  declare clockMs: number;
  /** One line, for steps at which nothing is on and something else matters more. */
  declare compact: boolean;

  static override styles = [
    baseStyle,
    css`
      :host {
        container-type: inline-size;
      }
      .card {
        height: 100%;
        padding: 0.6rem 0.9rem;
        border-top: 6px solid var(--line);
      }
      .card[data-output="on"] {
        border-top-color: var(--calm);
      }
      .card[data-output="unknown"] {
        border-top-color: var(--warn);
        border-top-style: dashed;
      }
      header {
        display: flex;
        justify-content: space-between;
        align-items: baseline;
        gap: 0.5rem;
        flex-wrap: wrap;
      }
      h2 {
        font-size: 1.25rem;
      }
      .output {
        font-weight: 700;
      }
      .output::before {
        content: "";
        display: inline-block;
        width: 0.8em;
        height: 0.8em;
        margin-right: 0.4em;
        border: 2px solid currentcolor;
        border-radius: 50%;
        vertical-align: -0.05em;
      }
      [data-output="on"] .output::before {
        background: currentcolor;
      }
      [data-output="unknown"] .output::before {
        border-radius: 0;
        rotate: 45deg;
        scale: 0.8;
      }
      .figures {
        display: flex;
        flex-wrap: wrap;
        column-gap: 1rem;
        align-items: baseline;
        font-variant-numeric: tabular-nums;
      }
      .figure {
        font-size: clamp(2.3rem, 12cqi, 5.5rem);
        line-height: 1.05;
        font-weight: 700;
        letter-spacing: -0.02em;
        white-space: nowrap;
      }
      .figure .unit {
        font-size: 0.5em;
        font-weight: 600;
        letter-spacing: 0;
        margin-left: 0.18em;
      }
      .second {
        display: flex;
        flex-wrap: wrap;
        gap: 0.2rem 1rem;
        align-items: baseline;
        font-size: clamp(1.25rem, 6.6cqi, 2rem);
        font-weight: 600;
        font-variant-numeric: tabular-nums;
      }
      .mode {
        padding: 0 0.4em;
        border: 2px solid var(--line);
        border-radius: 6px;
      }
      .mode[data-mode="cc"] {
        background: var(--warn-fill);
        border: 3px double var(--warn);
        color: var(--warn);
      }
      .stale {
        margin-top: 0.3rem;
        padding: 0.15rem 0.5rem;
        border: 2px dashed var(--warn);
        border-radius: 6px;
        background: var(--warn-fill);
        color: var(--warn);
        font-weight: 700;
      }
      [data-live="no"] .figures,
      [data-live="no"] .second {
        color: var(--ink-soft);
        font-weight: 400;
      }
      [data-live="no"] .figure {
        font-weight: 400;
      }
      [data-live="no"] .number {
        text-decoration: line-through 2px;
      }
      .limits {
        margin-top: 0.3rem;
      }
      :host([compact]) .card {
        display: flex;
        flex-wrap: wrap;
        align-items: baseline;
        gap: 0 1rem;
        padding: 0.2rem 0.9rem;
        border-top-width: 3px;
      }
      :host([compact]) header {
        flex: 1;
        flex-wrap: nowrap;
      }
      :host([compact]) .figure {
        font-size: 1.5rem;
      }
      :host([compact]) :is(.second, .limits) {
        display: none;
      }
      :host([compact]) .stale {
        margin: 0;
        font-size: 0.875rem;
      }
    `,
  ];

  override render() {
    const { feed, state } = this;
    const last = state.last;
    const fresh = freshness({ ...state, readIntervalMs: feed.readIntervalMs }, this.nowMs);
    const live = this.heard && last !== null && fresh !== null && !fresh.stale;
    // An output that is off regulates nothing, whatever the supply still says.
    const mode = state.output === "off" ? "none" : (last?.mode ?? "unknown");
    return html`<section class="card" data-output=${state.output} data-live=${live ? "yes" : "no"} aria-label="Feed ${feed.feed}">
      <header>
        <h2>${feed.feed}</h2>
        <span class="output">${feed.supply === null ? "switched by hand" : OUTPUT_WORDS[state.output]}</span>
      </header>
      <div class="figures">
        <span class="figure" data-figure="volts"><span class="number">${last === null ? "–" : voltsText(last.volts)}</span><span class="unit">V</span></span>
        <span class="figure" data-figure="amps"><span class="number">${last === null ? "–" : ampsText(last.amps, feed.stepAmps)}</span><span class="unit">A</span></span>
      </div>
      <div class="second">
        <span data-figure="watts">${last?.watts == null ? "–" : fixed(last.watts, 2)} W</span>
        <span class="mode" data-mode=${mode}>${MODE_WORDS[mode].short}<span class="unseen"> ${MODE_WORDS[mode].long}</span></span>
      </div>
      ${live ? nothing : this.#stale(fresh?.ageMs ?? null)}
      <p class="limits small soft">${this.#limits()}</p>
    </section>`;
  }

  #stale(ageMs: number | null) {
    if (this.state.last === null || ageMs === null) {
      return html`<p class="stale">${this.state.last === null ? "no reading yet" : "stale: from before this page was opened"}</p>`;
    }
    const at = new Date(this.clockMs - ageMs).toLocaleTimeString([], { hourCycle: "h23" });
    return html`<p class="stale">stale ${duration(ageMs)} (${at})</p>`;
  }

  #limits() {
    if (this.limits !== null && this.limits.volts > 0) {
      const { volts, limitAmps, overVolts } = this.limits;
      return `${volts} V set, ${limitAmps} A limit, ${overVolts} V most`;
    }
    const nominal = this.feed.nominalVolts;
    return nominal === null ? "no limits in force" : `nominal ${nominal} V; no limits in force`;
  }
}
customElements.define("feed-figures", FeedFigures);
