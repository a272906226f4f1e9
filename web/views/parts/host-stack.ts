import { css } from "lit";

/** A place of several cards, one below the other; one that is hidden takes no room. */
export const hostStack = css`
  :host {
    display: grid;
    grid-template-columns: minmax(0, 1fr);
    gap: 0.7rem;
  }
  :host([hidden]) {
    display: none;
  }
`;
