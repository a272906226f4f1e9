import { svg } from "lit";

const WIDE = 200;

/** A share from 0 to 1 as a bar; an attribute of a drawing, since the content policy takes no inline style. */
export const ladder = (
  share: number,
  tone = "full",
) => svg`<svg class="ladder" viewBox="0 0 ${WIDE} 8" preserveAspectRatio="none" aria-hidden="true">
    <rect class="rest" width=${WIDE} height="8"></rect>
    <rect class=${tone} width=${Math.round(Math.min(1, Math.max(0, share)) * WIDE)} height="8"></rect>
  </svg>`;
