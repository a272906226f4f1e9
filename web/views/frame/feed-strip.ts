import { html, LitElement, nothing } from "lit";
import type { WireFeed, WireSetting } from "../../../shared/wire.ts";
import { sayBound } from "../../../shared/words/amounts.ts";
import { freshness } from "../../page/freshness.ts";
import type { FeedState } from "../../page/page-state.ts";
import { say } from "../../words/shell.ts";
import { local, locale } from "../../words/words.ts";
import { baseStyle } from "../parts/base-style.ts";
import { ampsText, duration, fixed, voltsText } from "../parts/figures.ts";
import { ladder } from "../parts/ladder.ts";
import { feedStripStyle } from "./feed-strip-style.ts";

const MODES = {
  cv: { short: "CV", long: "feed.cv" },
  cc: { short: "CC", long: "feed.cc" },
  unknown: { short: "CV/CC?", long: "feed.mode-unknown" },
  none: { short: "–", long: "feed.mode-none" },
} as const;

const outputWord = (output: FeedState["output"]): string => (output === "unknown" ? "?" : say(`word.${output}`));
const clockAt = (ageMs: number): string =>
  new Date(Date.now() - ageMs).toLocaleTimeString(locale(), { hourCycle: "h23" });
/** The interval at which the age of a figure that is not live counts up. */
const AGE_MS = 1_000;

/** One feed as a strip: whether it is on, volts, amps, and how near the amps are to the limit that is in force. */
export class FeedStrip extends LitElement {
  static override properties = {
    feed: { attribute: false },
    state: { attribute: false },
    setting: { attribute: false },
    heard: { type: Boolean },
    resting: { type: Boolean },
    compact: { type: Boolean, reflect: true },
  };
  declare feed: WireFeed;
  declare state: FeedState;
  /** As it was read back; null while none is in force. */
  declare setting: WireSetting | null;
  /** False while the daemon is out of hearing: nothing is live then, however young. */
  declare heard: boolean;
  /** True while no run is on: the bench reads less often then. */
  declare resting: boolean;
  /** Less high, for places at which something else matters more. */
  declare compact: boolean;
  #again: number | undefined;

  static override styles = [baseStyle, feedStripStyle];

  override disconnectedCallback(): void {
    super.disconnectedCallback();
    clearTimeout(this.#again);
  }

  override render() {
    const { feed, state, setting } = this;
    const { last } = state;
    const nowMs = performance.now();
    const fresh = freshness({ ...state, readIntervalMs: feed.readIntervalMs, resting: this.resting }, nowMs);
    const live = this.heard && last !== null && fresh !== null && !fresh.stale;
    this.#lookAgain(fresh === null ? null : live ? fresh.staleInMs : AGE_MS);
    // An output that is off regulates nothing, whatever the supply still says.
    const mode = state.output === "off" ? "none" : (last?.mode ?? "unknown");
    const amps = last?.amps.kind === "value" ? last.amps.amps : null;
    const share = setting === null || amps === null ? 0 : amps / setting.limitAmps;
    const tone = share > 0.98 ? "at-limit" : share > 0.8 ? "near" : "full";
    return html`<section class="strip" data-output=${state.output} data-live=${live ? "yes" : "no"} aria-label=${say("feed.label", { feed: feed.feed })}>
      <h2 title=${feed.feed}>${feed.feed}</h2>
      <span class="output">${feed.supply === null ? say("feed.by-hand") : outputWord(state.output)}<span class="unseen">${state.output === "unknown" ? say("feed.unknown") : ""}</span></span>
      ${last === null ? nothing : html`${this.#figure("volts", voltsText(last.volts), "V")}${this.#figure("amps", ampsText(last.amps, feed.stepAmps), "A")}`}
      <span class="second">
        ${this.#watts(last?.watts ?? null)}
        <span class="mode" data-mode=${mode}>${MODES[mode].short}<span class="unseen"> ${say(MODES[mode].long)}</span></span>
      </span>
      <span class="gauge">${ladder(live ? share : 0, tone)}</span>
      <span class="limit">${setting === null ? html`<span class="soft">${say("feed.no-limit")}</span>` : html`<b>${local(sayBound(setting.limitAmps, "A", "highest"))}</b> <span class="soft">${say("feed.limit-at", { volts: setting.volts })}</span>`}</span>
      ${live ? nothing : html`<p class="stale" data-none=${last === null ? "yes" : "no"} title=${this.#told(fresh?.ageMs ?? null)}>${this.#stale(fresh?.ageMs ?? null)}</p>`}
    </section>`;
  }

  /** A number in a cell of its own that never moves, with a place for the sign. */
  #figure(name: "volts" | "amps", text: string, unit: string) {
    const isNegative = text.startsWith("−");
    return html`<span class="figure" data-figure=${name}><span class="sign">${isNegative ? "−" : ""}</span><span class="number">${isNegative ? text.slice(1) : text}</span><span class="unit">${unit}</span></span>`;
  }

  /** The sign has a place of its own: nothing moves as a reading goes to and fro around zero. */
  #watts(watts: number | null) {
    const text = watts === null ? "–" : fixed(Math.abs(watts), 2);
    const sign = watts !== null && watts < 0 && /[1-9]/.test(text) ? "−" : "";
    return html`<span class="watts" data-figure="watts"><span class="sign">${sign}</span><span>${text} W</span></span>`;
  }

  #stale(ageMs: number | null) {
    if (this.state.last === null) return say("feed.none");
    if (ageMs === null) return html`${say("feed.stale")}<span class="more">${say("feed.stale.before")}</span>`;
    return html`${say("feed.stale.age", { age: duration(ageMs) })}<span class="more"> (${clockAt(ageMs)})</span>`;
  }

  #told(ageMs: number | null): string {
    if (this.state.last === null) return say("feed.none");
    if (ageMs === null) return `${say("feed.stale")}${say("feed.stale.before")}`;
    return `${say("feed.stale.age", { age: duration(ageMs) })} (${clockAt(ageMs)})`;
  }

  /** A strip that is handed nothing new still sees its figure grow old. */
  #lookAgain(inMs: number | null): void {
    clearTimeout(this.#again);
    if (inMs !== null) this.#again = setTimeout(() => this.requestUpdate(), Math.max(20, inMs + 1));
  }
}
customElements.define("feed-strip", FeedStrip);
