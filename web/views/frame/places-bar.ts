import { css, html, LitElement, nothing } from "lit";
import { PLACES, type Place, type PlaceMark, SHOP_PLACE } from "../../record/places.ts";
import { say } from "../../words/shell.ts";
import { baseStyle } from "../parts/base-style.ts";

const MARKS: Record<PlaceMark, string> = { done: "✓", now: "▶", again: "↺", open: "" };

/** The rounds of the job, and the six places of the one that is shown, as pads on a lead. Arrow keys walk along them. */
export class PlacesBar extends LitElement {
  static override properties = {
    place: { type: String },
    marks: {
      attribute: false,
      hasChanged: (now: PlacesBar["marks"], before?: PlacesBar["marks"]) =>
        String([...now]) !== String([...(before ?? [])]),
    },
    rounds: { type: Number },
    round: { type: Number },
    shop: { type: Boolean },
  };
  declare place: Place;
  declare marks: ReadonlyMap<Place, PlaceMark>;
  /** The number of rounds of the job; 0 where none is open. */
  declare rounds: number;
  declare round: number;
  /** True where this bench belongs to a shop. */
  declare shop: boolean;

  static override styles = [
    baseStyle,
    css`
      .bar {
        display: flex;
        align-items: center;
        gap: 1.2rem;
        padding: 0 1rem;
      }
      .rounds {
        display: flex;
        gap: 0.3rem;
        align-items: center;
        flex: none;
        max-width: 45%;
        overflow-x: auto;
      }
      .rounds button {
        min-height: max(2rem, var(--touch, 0px));
        min-width: 2rem;
        padding: 0 0.5rem;
        border: 0;
        border-radius: 99px;
        background: transparent;
        font-weight: 400;
        color: var(--ink-soft);
      }
      .rounds button[aria-pressed="true"] {
        background: var(--calm-fill);
        color: var(--ink);
        font-weight: 700;
      }
      [role="tablist"] {
        position: relative;
        flex: 1;
        min-width: 0;
        display: grid;
        grid-template-columns: repeat(6, minmax(0, 1fr));
        max-width: 60rem;
      }
      [data-count="7"] {
        grid-template-columns: repeat(7, minmax(0, 1fr));
      }
      /* The lead that the places lie on. */
      [role="tablist"]::before {
        content: "";
        position: absolute;
        inset: auto 0 0.42rem 0;
        border-top: 2px solid var(--hair);
      }
      [role="tab"] {
        position: relative;
        min-height: 2.9rem;
        padding: 0.1rem 0.2rem 1rem;
        border: 0;
        border-radius: 6px;
        background: transparent;
        font-size: 1.125rem;
        font-weight: 500;
        color: var(--ink-soft);
        text-align: left;
        white-space: nowrap;
      }
      .pad {
        position: absolute;
        left: 0.2rem;
        bottom: 0;
        width: 1.6rem;
        height: 0.9rem;
        display: grid;
        place-items: center;
        border: 2px solid var(--line);
        border-radius: 3px;
        background: var(--ground);
        color: var(--ink);
        font-size: 0.75rem;
        font-weight: 800;
        line-height: 1;
      }
      [data-mark="done"] .pad {
        background: var(--calm);
        border-color: var(--calm);
        color: var(--sheet);
      }
      [data-mark="now"] .pad {
        background: var(--ink);
        border-color: var(--ink);
        color: var(--ground);
      }
      [data-mark="again"] .pad {
        border-color: var(--warn);
        color: var(--warn);
      }
      [aria-selected="true"] {
        color: var(--ink);
        font-weight: 800;
      }
      [aria-selected="true"] .pad {
        width: calc(100% - 0.9rem);
      }
      [aria-selected="true"][data-mark="open"] .pad {
        border-color: var(--ink);
      }
      @media (max-width: 56rem) {
        .bar {
          gap: 0.4rem;
          padding: 0 0.6rem;
        }
        .word {
          display: none;
        }
        [role="tab"] {
          font-size: 0.875rem;
          padding-inline: 0.05rem;
        }
        .pad {
          left: 0.05rem;
        }
        [role="tablist"] {
          column-gap: 0.1rem;
        }
        .rounds[data-many="no"] {
          display: none;
        }
      }
      @media (max-width: 34rem) {
        [role="tab"] {
          font-size: 0.75rem;
          letter-spacing: -0.02em;
        }
        /* Each as wide as its word: equal parts would cut the longest. */
        [role="tablist"],
        [role="tablist"][data-count="7"] {
          display: flex;
        }
        [role="tab"] {
          flex: 1 1 auto;
        }
        [role="tab"]:lang(de) {
          font-size: 0.6875rem;
          letter-spacing: -0.03em;
        }
        .rounds button {
          min-width: 1.5rem;
          padding: 0;
          border-radius: 8px;
        }
      }
      @media (max-width: 23rem) {
        .bar {
          gap: 0.15rem;
          padding-inline: 0.3rem;
        }
        [role="tab"] {
          overflow: hidden;
          font-size: 0.6875rem;
        }
      }
      @media (forced-colors: active) {
        [role="tab"] {
          forced-color-adjust: none;
          color: CanvasText;
          background: Canvas;
        }
        .pad {
          background: Canvas;
          color: CanvasText;
          border-color: CanvasText;
        }
        [aria-selected="true"] {
          text-decoration: underline;
        }
        :is([data-mark="done"], [data-mark="now"]) .pad {
          background: CanvasText;
          color: Canvas;
        }
      }
    `,
  ];

  constructor() {
    super();
    this.place = "board";
    this.marks = new Map();
    this.rounds = 0;
    this.round = 0;
    this.shop = false;
  }

  get #places() {
    return this.shop ? [...PLACES, SHOP_PLACE] : PLACES;
  }

  override render() {
    return html`<div class="bar">
      ${
        this.rounds === 0
          ? nothing
          : html`<div class="rounds" role="group" aria-label=${say("rounds.label")} data-many=${this.rounds > 1 ? "yes" : "no"}>
              ${Array.from({ length: this.rounds }, (_, index) => index + 1).map(
                (number) => html`<button
                  aria-pressed=${number === this.round}
                  title=${say(number < this.rounds ? "round.ended" : "round.title", { number })}
                  @click=${() => this.dispatchEvent(new CustomEvent("pick-round", { detail: number }))}
                ><span class=${number === this.round ? "word" : "unseen"}>${say("round")} </span>${number}</button>`,
              )}
            </div>`
      }
      <div role="tablist" aria-label=${say("places.label")} data-count=${this.#places.length} @keydown=${this.#walk}>
        ${this.#places.map(({ place }) => {
          const mark = this.marks.get(place) ?? "open";
          const chosen = place === this.place;
          return html`<button
            role="tab"
            data-place=${place}
            data-mark=${mark}
            aria-selected=${chosen}
            tabindex=${chosen ? 0 : -1}
            @click=${() => this.#pick(place)}
          >${say(`place.${place}`)}<span class="pad" aria-hidden="true">${MARKS[mark]}</span>${place === "shop" ? nothing : html`<span class="unseen">, ${say(`mark.${mark}`)}</span>`}</button>`;
        })}
      </div>
    </div>`;
  }

  readonly #walk = (event: KeyboardEvent): void => {
    const places = this.#places;
    const at = places.findIndex((each) => each.place === this.place);
    const to = { ArrowRight: at + 1, ArrowLeft: at - 1, Home: 0, End: places.length - 1 }[event.key];
    const place = to === undefined ? undefined : places[(to + places.length) % places.length]?.place;
    if (place === undefined) return;
    event.preventDefault();
    this.#pick(place);
    void this.updateComplete.then(() => this.renderRoot.querySelector<HTMLElement>(`[data-place="${place}"]`)?.focus());
  };

  #pick(place: Place): void {
    this.dispatchEvent(new CustomEvent("pick-place", { detail: place }));
    this.place = place;
  }
}
customElements.define("places-bar", PlacesBar);
