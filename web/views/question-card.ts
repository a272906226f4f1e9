import { css, html, LitElement } from "lit";
import type { WireQuestion } from "../../shared/wire.ts";
import { baseStyle } from "./base-style.ts";

/** A question that the run waits for: raise a limit, or switch a feed by hand. */
export class QuestionCard extends LitElement {
  static override properties = { question: { attribute: false }, mayAnswer: { type: Boolean } };
  declare question: WireQuestion;
  declare mayAnswer: boolean;

  static override styles = [
    baseStyle,
    css`
      .card {
        display: grid;
        gap: 0.6rem;
        border: 3px solid var(--warn);
        background: var(--warn-fill);
      }
      h2 {
        font-size: 1.25rem;
      }
      .row {
        display: flex;
        gap: 0.6rem;
        flex-wrap: wrap;
      }
    `,
  ];

  override render() {
    const { asks, feed, fromAmps, toAmps, because } = this.question;
    const raises = asks === "raise-limit";
    const ask = raises
      ? `Raise the limit of ${feed} from ${fromAmps ?? "?"} A to ${toAmps ?? "?"} A?`
      : `Switch feed ${feed} ${asks === "manual-on" ? "on" : "off"} by hand, then say so.`;
    return html`<section class="card" role="alertdialog" aria-label="Question" aria-describedby="ask">
      <h2 id="ask">? ${ask}</h2>
      <p>${because}</p>
      <div class="row">
        <button ?disabled=${!this.mayAnswer} @click=${() => this.#answer(true)}>
          ${raises ? `Raise ${feed} to ${toAmps ?? "?"} A` : `${feed} is ${asks === "manual-on" ? "on" : "off"}`}
        </button>
        <button ?disabled=${!this.mayAnswer} @click=${() => this.#answer(false)}>${raises ? "No: leave it off" : "I cannot"}</button>
      </div>
      ${this.mayAnswer ? "" : html`<p class="small">Only the page in control can answer.</p>`}
    </section>`;
  }

  #answer(yes: boolean): void {
    this.dispatchEvent(new CustomEvent("answer-question", { detail: { question: this.question.question, yes } }));
  }
}
customElements.define("question-card", QuestionCard);
