import { html } from "lit";
import type { HelpKey } from "../../words/help.ts";

/** A field with its help beside it; the help itself comes with the second file of the page. */
export const withHelp = (about: HelpKey, field: unknown) =>
  html`<div class="asked">${field}<field-help .about=${about}></field-help></div>`;
