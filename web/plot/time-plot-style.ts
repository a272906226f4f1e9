import { css } from "lit";

/** Panes over one time axis, with what the cursor reads and the tools under them. */
export const timePlotStyle = css`
  :host {
    display: flex;
    flex-direction: column;
    min-height: 0;
    height: 100%;
  }
  .top,
  .tools {
    display: flex;
    flex-wrap: wrap;
    gap: 0.3rem 1rem;
    align-items: center;
  }
  .key {
    margin-left: auto;
    display: flex;
    flex-wrap: wrap;
    gap: 0 1rem;
  }
  .key span::before {
    content: "";
    display: inline-block;
    width: 1.6rem;
    margin-right: 0.4rem;
    vertical-align: 0.25em;
    border-top: 3px solid var(--trace);
  }
  .key .look1::before {
    border-top: 3px dashed var(--other);
  }
  .key .look2::before {
    border-top: 3px dotted var(--focus);
  }
  .key .look3::before {
    border-top: 3px double var(--ink);
  }
  .key .limit::before {
    border-top: 3px dashed var(--limit);
  }
  .key .set::before {
    border-top: 2px dotted var(--set);
  }
  .key .band::before {
    border-top: 0.7rem solid var(--calm-fill);
    vertical-align: -0.05em;
  }
  .charts {
    position: relative;
    flex: 1;
    min-height: 0;
    display: grid;
    grid-auto-rows: minmax(0, 1fr);
    cursor: crosshair;
    touch-action: pan-y;
    overflow: hidden;
  }
  .charts > div.pane {
    min-height: 0;
    min-width: 0;
    overflow: hidden;
  }
  :host([frozen]) .charts {
    filter: grayscale(1);
    opacity: 0.6;
  }
  canvas {
    display: block;
    width: 100%;
    height: 100%;
  }
  .cursor {
    position: absolute;
    top: 0;
    bottom: 0;
    width: 0;
    border-left: 2px solid var(--ink);
    pointer-events: none;
  }
  .cursor.base {
    border-left: 2px dashed var(--ink);
  }
  .cursor[hidden] {
    display: none;
  }
  .read {
    min-height: 1.4em;
    font-variant-numeric: tabular-nums;
    overflow-wrap: anywhere;
  }
  .tools button {
    min-height: max(1.9rem, var(--touch, 0px));
    min-width: max(2.2rem, var(--touch, 0px));
    padding: 0.1rem 0.6rem;
    border-width: 1px;
  }
  .empty {
    position: absolute;
    inset: 0;
    display: grid;
    place-items: center;
    font-size: 1.125rem;
  }
  @media print {
    .tools {
      display: none;
    }
  }
`;
