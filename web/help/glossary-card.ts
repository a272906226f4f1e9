import { css, html, LitElement } from "lit";
import { baseStyle } from "../views/parts/base-style.ts";
import english from "../words/glossary.en.json" with { type: "json" };
import { type GlossaryKey, say } from "../words/glossary.ts";
import { say as sayTour } from "../words/tour.ts";
import { locale } from "../words/words.ts";

type Term = Exclude<GlossaryKey, "words" | `${string}.means`>;

const isTerm = (key: string): key is Term => key !== "words" && !key.endsWith(".means");

/** Every word of the glossary, as the alphabet of the language has them; and the way into the tour. */
export class GlossaryCard extends LitElement {
  static override styles = [
    baseStyle,
    css`
      dt {
        margin-top: 0.5rem;
        font-weight: 700;
      }
      button {
        margin-top: 0.6rem;
      }
    `,
  ];

  override render() {
    const terms = Object.keys(english)
      .filter(isTerm)
      .map((term) => ({ word: say(term), means: say(`${term}.means`) }))
      .sort((one, other) => one.word.localeCompare(other.word, locale()));
    return html`<details class="card small">
      <summary>${say("words")}</summary>
      <button @click=${() => this.dispatchEvent(new CustomEvent("show-tour", { bubbles: true, composed: true }))}>${sayTour("start")}</button>
      <dl>${terms.map(({ word, means }) => html`<dt>${word}</dt><dd>${means}</dd>`)}</dl>
    </details>`;
  }
}
customElements.define("glossary-card", GlossaryCard);
