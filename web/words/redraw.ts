import { LitElement } from "lit";

/** Draws every part of the page anew, through all shadow roots: its language is another now. */
export function redrawAll(root: ParentNode): void {
  for (const element of root.querySelectorAll("*")) {
    if (element instanceof LitElement) element.requestUpdate();
    if (element.shadowRoot !== null) redrawAll(element.shadowRoot);
  }
}
