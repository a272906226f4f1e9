import { css, html, LitElement } from "lit";
import { STEPS, type Step, type StepMark } from "../record/job-steps.ts";
import { baseStyle } from "./base-style.ts";

const MARKS: Record<StepMark, { mark: string; word: string }> = {
  done: { mark: "✓", word: "done" },
  now: { mark: "▶", word: "the job is here" },
  open: { mark: "", word: "to come" },
};

/** The steps of the job in a row, as tabs: which is shown, which are done, where the job is. Arrow keys walk along it. */
export class JobPath extends LitElement {
  static override properties = {
    step: { type: String },
    marks: {
      attribute: false,
      hasChanged: (now: JobPath["marks"], before?: JobPath["marks"]) =>
        String([...now]) !== String([...(before ?? [])]),
    },
  };
  declare step: Step;
  declare marks: ReadonlyMap<Step, StepMark>;

  static override styles = [
    baseStyle,
    css`
      [role="tablist"] {
        display: grid;
        grid-template-columns: repeat(10, minmax(0, 1fr));
        gap: 0.25rem;
      }
      button {
        display: flex;
        align-items: center;
        justify-content: center;
        gap: 0.4rem;
        min-height: 2.4rem;
        padding: 0.15rem 0.3rem;
        border: 1px solid var(--line);
        border-bottom-width: 4px;
        border-radius: 6px;
        font-size: 1.0625rem;
        white-space: nowrap;
        overflow: hidden;
      }
      button[data-mark="open"] {
        background: var(--ground);
      }
      button[data-mark="done"] {
        border-color: var(--calm);
      }
      button[aria-selected="true"] {
        background: var(--ink);
        border-color: var(--ink);
        color: var(--ground);
      }
      .mark {
        min-width: 1.1em;
        font-weight: 800;
      }
      @media (max-width: 56rem) {
        [role="tablist"] {
          grid-template-columns: repeat(5, minmax(0, 1fr));
        }
        button {
          flex-direction: column;
          gap: 0;
          font-size: 0.8125rem;
          line-height: 1.2;
        }
      }
    `,
  ];

  constructor() {
    super();
    this.step = "intake";
    this.marks = new Map();
  }

  override render() {
    return html`<div role="tablist" aria-label="Steps of the job" @keydown=${this.#walk}>
      ${STEPS.map(({ step, name }, index) => {
        const mark = this.marks.get(step) ?? "open";
        const chosen = step === this.step;
        return html`<button
          role="tab"
          data-step=${step}
          data-mark=${mark}
          aria-selected=${chosen}
          tabindex=${chosen ? 0 : -1}
          @click=${() => this.#pick(step)}
        >
          <span class="mark" aria-hidden="true">${MARKS[mark].mark || index + 1}</span>${name}<span class="unseen">, ${MARKS[mark].word}</span>
        </button>`;
      })}
    </div>`;
  }

  readonly #walk = (event: KeyboardEvent): void => {
    const at = STEPS.findIndex((each) => each.step === this.step);
    const to = { ArrowRight: at + 1, ArrowLeft: at - 1, Home: 0, End: STEPS.length - 1 }[event.key];
    const step = to === undefined ? undefined : STEPS[(to + STEPS.length) % STEPS.length]?.step;
    if (step === undefined) return;
    event.preventDefault();
    this.#pick(step);
    void this.updateComplete.then(() => this.renderRoot.querySelector<HTMLElement>(`[data-step="${step}"]`)?.focus());
  };

  #pick(step: Step): void {
    this.dispatchEvent(new CustomEvent("pick-step", { detail: step }));
    this.step = step;
  }
}
customElements.define("job-path", JobPath);
