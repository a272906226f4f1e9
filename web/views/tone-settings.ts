import { css, html, LitElement } from "lit";
import type { ToneName } from "../page/tone-for.ts";
import { baseStyle } from "./base-style.ts";

/** The meaning of each tone, in the order a job meets them. */
const TONES: [tone: ToneName, means: string][] = [
  ["limiting", "A feed is at its current limit"],
  ["collapse", "The voltage collapsed: cut"],
  ["cut", "Cut, by a trip or by hand"],
  ["settled", "The verdict is in, or a sweep has ended"],
  ["question", "A question is asked"],
  ["place", "Place the probe"],
  ["taken", "Taken, within its limits"],
  ["taken-bad", "Taken, outside its limits"],
  ["nothing", "No contact: a dead rail, or the probe in the air"],
  ["cooling", "Off for a while, to cool"],
  ["alarm", "Not proved off: switch off by hand"],
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
        min-height: 1.75rem;
        padding: 0 0.6rem;
        border-width: 1px;
      }
      input[type="range"] {
        width: 100%;
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
    return html`<label><span class="label">How loud: ${Math.round(this.volume * 100)} %</span>
        <input type="range" min="0" max="100" step="5" .value=${String(Math.round(this.volume * 100))} ?disabled=${!this.on} @change=${this.#onVolume} /></label>
      <p class="small soft">The alarm is never softer than half.</p>
      <details>
        <summary>Hear them</summary>
        <ul class="small">
          ${TONES.map(([tone, means]) => html`<li><button ?disabled=${!this.on} @click=${() => this.dispatchEvent(new CustomEvent("hear-tone", { detail: tone }))} aria-label="Hear: ${means}">♪</button><span>${means}</span></li>`)}
        </ul>
      </details>`;
  }

  readonly #onVolume = (event: Event): void => {
    const volume = Number((event.target as HTMLInputElement).value) / 100;
    this.dispatchEvent(new CustomEvent("set-volume", { detail: volume }));
  };
}
customElements.define("tone-settings", ToneSettings);
