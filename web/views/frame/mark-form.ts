import { html, LitElement, nothing } from "lit";
import { say } from "../../words/shell.ts";
import { baseStyle } from "../parts/base-style.ts";

/** A statement on the board while it is on: its power key, or a person's own words; goes into the record with its time. */
export class MarkForm extends LitElement {
  static override properties = { states: { attribute: false }, inControl: { type: Boolean } };
  /** "the adapter is plugged in", "the power key is pressed": what each state of power comes after. */
  declare states: readonly string[];
  declare inControl: boolean;

  static override styles = [baseStyle];

  constructor() {
    super();
    this.states = [];
    this.inControl = false;
  }

  override render() {
    const next = this.states[1];
    return html`<form class="row card" aria-label=${say("do.label")} @submit=${this.#submit}>
      ${next === undefined ? nothing : html`<button type="button" ?disabled=${!this.inControl} @click=${() => this.#say(null)}>${say("do.now", { state: next })}</button>`}
      <label class="row"><span class="label">${say("do.text")}</span><input type="text" name="text" maxlength="200" autocomplete="off" placeholder=${say("do.such")} /></label>
      <button type="submit" ?disabled=${!this.inControl}>${say("do.mark")}</button>
    </form>`;
  }

  readonly #submit = (event: SubmitEvent): void => {
    event.preventDefault();
    const form = event.target as HTMLFormElement;
    const text = String(new FormData(form).get("text") ?? "").trim();
    if (text === "") return;
    form.reset();
    this.#say(text);
  };

  #say(text: string | null): void {
    this.dispatchEvent(new CustomEvent("say-mark", { detail: text, bubbles: true, composed: true }));
  }
}
customElements.define("mark-form", MarkForm);
