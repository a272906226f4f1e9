import { css } from "lit";

/** The rail, its point and its value to be read from the probes; the board's pictures beside them. */
export const probeStyle = css`
  ::slotted([slot="next"]) {
    display: block;
    margin-bottom: 0.7rem;
  }
  .running {
    display: grid;
    grid-template-columns: minmax(0, 1.2fr) minmax(0, 1fr);
    gap: 0.7rem;
    align-items: start;
  }
  .idle {
    display: grid;
    gap: 0.8rem;
    grid-template-columns: repeat(auto-fit, minmax(min(100%, 22rem), 1fr));
    align-items: start;
  }
  .idle .pictures,
  .idle .last,
  .running > .rails {
    grid-column: 1 / -1;
  }
  .rail {
    font-size: clamp(2.2rem, 5vw, 4rem);
    font-weight: 800;
    line-height: 1.05;
    overflow-wrap: anywhere;
  }
  .point {
    font-size: clamp(1.25rem, 2.2vw, 1.7rem);
    line-height: 1.25;
    overflow-wrap: anywhere;
  }
  .reading {
    display: flex;
    flex-wrap: wrap;
    gap: 0 1.2rem;
    align-items: baseline;
    min-height: 5rem;
    font-variant-numeric: tabular-nums;
  }
  .value {
    font-size: clamp(2.4rem, 6vw, 4.75rem);
    font-weight: 700;
    line-height: 1.1;
    white-space: nowrap;
  }
  .place {
    font-size: clamp(1.8rem, 4vw, 2.8rem);
    font-weight: 700;
    color: var(--ink-soft);
  }
  .motion {
    font-size: 1.5rem;
    font-weight: 700;
  }
  .taken {
    padding: 0.3rem 0.8rem;
    border: 4px solid var(--calm);
    border-radius: 10px;
    background: var(--calm-fill);
  }
  .taken[data-tone="bad"] {
    border: 4px double var(--stop);
    background: var(--stop-fill);
  }
  .taken[data-tone="open"] {
    border: 4px dashed var(--warn);
    background: var(--warn-fill);
  }
  .question {
    padding: 0.6rem 0.8rem;
    border: 3px solid var(--warn);
    border-radius: 8px;
    background: var(--warn-fill);
    font-size: 1.25rem;
  }
  input.short[type="text"] {
    width: 8rem;
  }
  kbd {
    font: inherit;
    font-weight: 400;
    padding: 0 0.35em;
    border: 1px solid currentcolor;
    border-radius: 4px;
    margin-left: 0.3em;
  }
  @media (max-width: 56rem) {
    .running {
      grid-template-columns: minmax(0, 1fr);
    }
  }
`;
