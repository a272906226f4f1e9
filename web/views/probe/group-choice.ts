import { html, LitElement, nothing } from "lit";
import type { SweepHow } from "../../../shared/wire-request.ts";
import { say } from "../../words/probe.ts";
import { baseStyle } from "../parts/base-style.ts";

/** Begins the sweep of one group of points that should read alike, on a board that is off: in diode mode or in ohms. */
export class GroupChoice extends LitElement {
  static override properties = { groups: { attribute: false }, mayStart: { type: Boolean } };
  /** Points by the name of their group. */
  declare groups: Readonly<Record<string, readonly string[]>>;
  declare mayStart: boolean;

  static override styles = [baseStyle];

  constructor() {
    super();
    this.groups = {};
    this.mayStart = false;
  }

  override render() {
    const groups = Object.entries(this.groups);
    if (groups.length === 0) return nothing;
    return html`<form class="stack" @submit=${this.#begin}>
      <h3 class="label small">${say("group.heading")}</h3>
      <p class="small">${say("group.how")}</p>
      <div class="row">
        <label class="row"><span class="label">${say("group.which")}</span>
          <select name="group">${groups.map(([group, points]) => html`<option value=${group}>${say("group.option", { group, count: points.length })}</option>`)}</select></label>
        <label class="row"><span class="label">${say("group.quantity")}</span>
          <select name="quantity">
            <option value="diode">${say("group.diode")}</option>
            <option value="ohms">${say("group.ohms")}</option>
          </select></label>
        <button type="submit" ?disabled=${!this.mayStart}>${say("group.begin")}</button>
      </div>
    </form>`;
  }

  readonly #begin = (event: SubmitEvent): void => {
    event.preventDefault();
    const data = new FormData(event.target as HTMLFormElement);
    const detail: SweepHow = {
      diode: data.get("quantity") === "diode",
      fourWire: false,
      blackAt: "board",
      group: String(data.get("group")),
    };
    this.dispatchEvent(new CustomEvent("ask-cold-sweep", { detail, bubbles: true, composed: true }));
  };
}
customElements.define("group-choice", GroupChoice);
