import { css, html, LitElement } from "lit";
import type { ToneName } from "../../page/tone-for.ts";
import { say } from "../../words/shell.ts";
import { baseStyle } from "../parts/base-style.ts";

/** In the order a job meets them. */
const TONES: ToneName[] = [
  "limiting",
  "collapse",
  "cut",
  "settled",
  "question",
  "place",
  "taken",
  "taken-bad",
  "nothing",
  "cooling",
  "alarm",
];

/** The loudness of the tones, and a list to hear them and learn what they mean. */
export class ToneSettings extends LitElement {
  static override properties = { on: { type: Boolean }, volume: { type: Number } };
  declare on: boolean;
  declare volume: number;

  static override styles = [
    baseStyle,
    css`
      li {
        display: grid;
        grid-template-columns: auto minmax(0, 1fr);
        gap: 0.5rem;
        align-items: center;
        padding: 0.15rem 0;
        border-top: 1px solid var(--hair);
      }
      li button {
        min-height: max(1.75rem, var(--touch, 0px));
        min-width: var(--touch, 0px);
        padding: 0 0.6rem;
        border-width: 1px;
      }
      input[type="range"] {
        width: 100%;
        margin: 0;
        min-height: var(--touch, 0px);
        accent-color: var(--calm);
      }
    `,
  ];

  constructor() {
    super();
    this.on = true;
    this.volume = 0.6;
  }

  override render() {
    return html`<label><span class="label">${say("tones.loud", { percent: Math.round(this.volume * 100) })}</span>
        <input type="range" min="0" max="100" step="5" .value=${String(Math.round(this.volume * 100))} ?disabled=${!this.on} @change=${this.#onVolume} /></label>
      <p class="small soft">${say("tones.alarm")}</p>
      <details>
        <summary>${say("tones.hear")}</summary>
        <ul class="small">
          ${TONES.map((tone) => html`<li><button ?disabled=${!this.on} @click=${() => this.dispatchEvent(new CustomEvent("hear-tone", { detail: tone }))} aria-label=${say("tones.hear.one", { what: say(`tone.${tone}`) })}>♪</button><span>${say(`tone.${tone}`)}</span></li>`)}
        </ul>
      </details>`;
  }

  readonly #onVolume = (event: Event): void => {
    const volume = Number((event.target as HTMLInputElement).value) / 100;
    this.dispatchEvent(new CustomEvent("set-volume", { detail: volume }));
  };
}
customElements.define("tone-settings", ToneSettings);
