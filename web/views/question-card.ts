import { css, html, LitElement } from "lit";
import type { WireQuestion } from "../../shared/wire.ts";
import { baseStyle } from "./base-style.ts";

/** A question that the run waits for: raise a limit, or switch a feed by hand. */
export class QuestionCard extends LitElement {
  static override properties = {
    question: { attribute: false },
    mayAnswer: { type: Boolean },
    answered: { state: true },
  };
  declare question: WireQuestion;
  declare mayAnswer: boolean;
  /** The question that this page has answered; one that is asked again comes as another object. */
  declare answered: WireQuestion | null;

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

  constructor() {
    super();
    this.answered = null;
  }

  override render() {
    const { asks, feed, fromAmps, toAmps, because } = this.question;
    const raises = asks === "raise-limit";
    const mayPress = this.mayAnswer && this.answered !== this.question;
    const ask = raises
      ? `Raise the limit of ${feed} from ${fromAmps ?? "?"} A to ${toAmps ?? "?"} A?`
      : `Switch feed ${feed} ${asks === "manual-on" ? "on" : "off"} by hand, then say so.`;
    return html`<section class="card" role="alertdialog" aria-label="Question" aria-describedby="ask">
      <h2 id="ask">? ${ask}</h2>
      <p>${because}</p>
      <div class="row">
        <button ?disabled=${!mayPress} @click=${() => this.#answer(true)}>
          ${raises ? `Raise ${feed} to ${toAmps ?? "?"} A` : `${feed} is ${asks === "manual-on" ? "on" : "off"}`}
        </button>
        <button ?disabled=${!mayPress} @click=${() => this.#answer(false)}>${raises ? "No: leave it off" : "I cannot"}</button>
      </div>
      ${this.mayAnswer ? "" : html`<p class="small">Only the page in control can answer.</p>`}
    </section>`;
  }

  /** Once: a second press before the page is drawn again would answer the same question twice. */
  #answer(yes: boolean): void {
    if (this.answered === this.question) return;
    this.answered = this.question;
    this.dispatchEvent(new CustomEvent("answer-question", { detail: { question: this.question.question, yes } }));
  }
}
customElements.define("question-card", QuestionCard);
