import { css } from "lit";

/** The style that all parts of the page share; colours and shape come from `page.css`. */
export const baseStyle = css`
  :host {
    display: block;
  }
  :host([hidden]) {
    display: none;
  }
  *,
  ::before,
  ::after {
    box-sizing: border-box;
  }
  h2,
  h3,
  p,
  ul,
  ol,
  dl,
  dd {
    margin: 0;
    padding: 0;
  }
  ul,
  ol {
    list-style: none;
  }
  h2 {
    font-size: 1rem;
    font-weight: 700;
    overflow-wrap: anywhere;
  }
  h2 + :is(ul, ol, p, form, details) {
    margin-top: 0.4rem;
  }
  .stack > h2 + * {
    margin-top: 0;
  }
  /* A longer line loses the eye on its way back. */
  p {
    max-width: 50rem;
  }
  .small {
    font-size: 0.875rem;
  }
  p.small {
    max-width: 46rem;
  }
  .card {
    background: var(--sheet);
    border: 1px solid var(--hair);
    border-radius: var(--radius);
    padding: 0.9rem 1rem;
  }
  details.card:not([open]) {
    padding-block: 0.5rem;
  }
  button,
  select,
  input,
  textarea {
    font: inherit;
    color: inherit;
  }
  button {
    min-height: max(2.5rem, var(--touch, 0px));
    overflow-wrap: anywhere;
    padding: 0.4rem 0.9rem;
    border: 2px solid var(--ink);
    border-radius: 8px;
    background: var(--sheet);
    font-weight: 600;
    cursor: pointer;
  }
  button.main {
    background: var(--calm);
    border-color: var(--calm);
    color: var(--sheet);
  }
  /* A filled button keeps its fill, in the colours that the person chose. */
  @media (forced-colors: active) {
    button.main:not(:disabled) {
      forced-color-adjust: none;
      background: ButtonText;
      border-color: ButtonText;
      color: ButtonFace;
    }
  }
  button:disabled {
    border-color: var(--line);
    background: var(--sunk);
    color: var(--ink-soft);
    cursor: not-allowed;
  }
  input[type="text"],
  input[type="number"],
  select,
  textarea {
    width: 100%;
    min-height: max(2.25rem, var(--touch, 0px));
    padding: 0.3rem 0.5rem;
    border: 1px solid var(--line);
    border-radius: 6px;
    background: var(--ground);
  }
  ::placeholder {
    color: var(--ink-soft);
    opacity: 1;
  }
  input[type="file"] {
    width: 100%;
    min-width: 0;
    font-size: 0.9375rem;
    color: var(--ink-soft);
  }
  input[type="file"]::file-selector-button {
    min-height: max(2.25rem, var(--touch, 0px));
    margin-right: 0.6rem;
    padding: 0.2rem 0.8rem;
    border: 1px solid var(--line);
    border-radius: 8px;
    background: var(--sheet);
    color: var(--ink);
    font: inherit;
    font-weight: 600;
  }
  input[type="checkbox"] {
    width: 1.35rem;
    height: 1.35rem;
    flex: none;
    accent-color: var(--calm);
  }
  :focus-visible {
    outline: 3px solid var(--focus);
    outline-offset: 2px;
  }
  textarea {
    min-height: 4rem;
    resize: vertical;
  }
  fieldset {
    display: grid;
    grid-template-columns: minmax(0, 1fr);
    gap: 0.4rem;
    border: 0;
    margin: 0;
    padding: 0;
    min-width: 0;
  }
  legend,
  .label {
    font-weight: 600;
    padding: 0;
  }
  .check {
    display: flex;
    gap: 0.6rem;
    align-items: center;
    min-height: var(--touch, 0px);
  }
  .row {
    display: flex;
    flex-wrap: wrap;
    gap: 0.6rem;
    align-items: center;
  }
  .stack {
    display: grid;
    grid-template-columns: minmax(0, 1fr);
    gap: 0.7rem;
    align-content: start;
  }
  .two {
    display: grid;
    grid-template-columns: repeat(auto-fit, minmax(min(100%, 19rem), 1fr));
    gap: 0.8rem;
    align-items: start;
  }
  .two > * {
    min-width: 0;
  }
  table {
    width: 100%;
    border-collapse: collapse;
    font-variant-numeric: tabular-nums;
  }
  th,
  td {
    text-align: right;
    padding: 0.2rem 0.3rem;
    border-bottom: 1px solid var(--hair);
  }
  th:first-child,
  td:first-child {
    text-align: left;
  }
  .problem {
    scroll-margin: 0.5rem;
    padding: 0.5rem 0.7rem;
    border: 2px solid var(--stop);
    background: var(--stop-fill);
    border-radius: 6px;
  }
  /* There the strips of the feeds and the dock lie over what is scrolled. */
  @media (max-width: 56rem), (max-height: 34rem) {
    .problem {
      scroll-margin: 14rem 0 10rem;
    }
  }
  summary {
    min-height: max(1.75rem, var(--touch, 0px));
    align-content: center;
    overflow-wrap: anywhere;
    cursor: pointer;
    font-weight: 600;
  }
  .soft {
    color: var(--ink-soft);
  }
  .told {
    overflow-wrap: anywhere;
  }
  .asked {
    position: relative;
    min-width: 0;
  }
  .asked > label .label,
  .asked > .check,
  .asked > p {
    padding-right: 1.9rem;
  }
  form {
    min-width: 0;
  }
  /* A share as a ladder: what is filled is seen by its rungs, without colour. */
  .ladder {
    display: block;
    width: 100%;
    height: 0.8rem;
    overflow: visible;
  }
  .ladder .rest {
    fill: var(--sunk);
  }
  .ladder .full {
    fill: var(--calm);
  }
  @media (forced-colors: active) {
    .ladder .rest {
      fill: Canvas;
      stroke: CanvasText;
      stroke-width: 1;
    }
    .ladder .full {
      fill: CanvasText;
    }
    .ladder {
      forced-color-adjust: none;
    }
  }
  .unseen {
    position: absolute;
    width: 1px;
    height: 1px;
    overflow: hidden;
    clip-path: inset(50%);
    white-space: nowrap;
  }
`;
