import { html, nothing } from "lit";
import { ref } from "lit/directives/ref.js";

/** A refusal in its own words, brought into sight where it appears; nothing where there is none. */
export const problem = (text: string) =>
  text === "" ? nothing : html`<p class="problem" role="alert" ${ref(intoSight)}>✕ ${text}</p>`;

/** The element is not in the document yet when it is handed over. */
function intoSight(element?: Element): void {
  queueMicrotask(() => element?.scrollIntoView({ block: "nearest" }));
}
