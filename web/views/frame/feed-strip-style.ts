import { css } from "lit";

/** Numbers in cells that never move; the state is a block that is full, hollow or broken, and never told by colour alone. */
export const feedStripStyle = css`
  :host {
    container-type: inline-size;
  }
  .strip {
    position: relative;
    display: grid;
    grid-template:
      "state name figures-v figures-a gauge second" auto
      "state name figures-v figures-a limit second" auto
      / 4.6rem minmax(4.5rem, 8rem) 12rem 12rem minmax(7rem, 1fr) 6.2rem;
    align-items: center;
    column-gap: 0.9rem;
    min-height: 3.9rem;
    padding-right: 0.9rem;
    background: var(--sheet);
    border: 1px solid var(--hair);
    border-radius: var(--radius);
    overflow: hidden;
    /* A new figure is laid out and painted here and nowhere else. */
    contain: layout paint style;
    font-variant-numeric: tabular-nums;
  }
  h2 {
    grid-area: name;
    font-size: 1.25rem;
    overflow: hidden;
    text-overflow: ellipsis;
    white-space: nowrap;
  }
  .output {
    grid-area: state;
    align-self: stretch;
    display: grid;
    place-items: center;
    font-size: 1.5rem;
    font-weight: 800;
    letter-spacing: 0.03em;
    border-right: 1px solid var(--hair);
    color: var(--ink-soft);
  }
  [data-output="on"] .output {
    background: var(--calm);
    color: var(--sheet);
  }
  [data-output="unknown"] .output {
    color: var(--warn);
    background: repeating-linear-gradient(135deg, var(--warn-fill) 0 10px, var(--sheet) 10px 20px);
  }
  .figure {
    display: grid;
    grid-template-columns: 0.62em minmax(0, 1fr) auto;
    align-items: baseline;
    font-size: 2.6rem;
    font-weight: 700;
    line-height: 1;
    letter-spacing: -0.02em;
    white-space: nowrap;
    contain: layout style;
  }
  .figure[data-figure="volts"] {
    grid-area: figures-v;
  }
  .figure[data-figure="amps"] {
    grid-area: figures-a;
  }
  .number {
    text-align: right;
    overflow: hidden;
  }
  .unit {
    font-size: 0.5em;
    font-weight: 600;
    letter-spacing: 0;
    width: 1.4em;
    padding-left: 0.2em;
  }
  .gauge {
    grid-area: gauge;
    align-self: end;
    position: relative;
  }
  .gauge .ladder {
    height: 1.15rem;
  }
  /* Rungs at each tenth of the limit, and its end as a post. */
  .gauge::after {
    content: "";
    position: absolute;
    inset: 0;
    background: repeating-linear-gradient(90deg, transparent 0 calc(10% - 2px), var(--sheet) calc(10% - 2px) 10%);
  }
  [data-output="on"] .gauge {
    border-right: 4px solid var(--limit);
  }
  .ladder .near {
    fill: var(--warn);
  }
  .ladder .at-limit {
    fill: var(--stop);
  }
  .limit {
    grid-area: limit;
    align-self: start;
    justify-self: end;
    font-size: 0.9375rem;
    white-space: nowrap;
    overflow: hidden;
    max-width: 100%;
    text-overflow: ellipsis;
  }
  .second {
    grid-area: second;
    display: grid;
    gap: 0.15rem;
    justify-items: end;
    font-size: 1.125rem;
    font-weight: 600;
    white-space: nowrap;
  }
  .watts {
    display: grid;
    grid-template-columns: 0.62em auto;
  }
  .mode {
    padding: 0 0.4em;
    border: 2px solid var(--line);
    border-radius: 6px;
  }
  .mode[data-mode="cc"] {
    background: var(--warn-fill);
    border: 3px double var(--warn);
    color: var(--warn);
  }
  /* Over the gauge, so that nothing moves when a figure grows old. */
  .stale {
    position: absolute;
    grid-area: gauge / gauge / limit / gauge;
    place-self: center;
    z-index: 1;
    padding: 0.1rem 0.6rem;
    border: 2px dashed var(--warn);
    border-radius: 6px;
    background: var(--warn-fill);
    color: var(--warn);
    font-size: 1rem;
    font-weight: 700;
    white-space: nowrap;
  }
  [data-live="no"] :is(.figure, .second) {
    color: var(--ink-soft);
    font-weight: 400;
  }
  [data-live="no"] .number {
    text-decoration: line-through 2px;
  }
  :host([compact]) .strip {
    grid-template:
      "state name figures-v figures-a" auto
      / 3.2rem minmax(3rem, 1fr) 5.6rem 6rem;
    min-height: 2.5rem;
    column-gap: 0.5rem;
  }
  :host([compact]) :is(.gauge, .limit, .second) {
    display: none;
  }
  :host([compact]) .figure {
    font-size: 1.3rem;
  }
  :host([compact]) .output {
    font-size: 1rem;
  }
  :host([compact]) h2 {
    font-size: 1rem;
  }
  :host([compact]) .more {
    display: none;
  }
  /* Under the name: a figure that is old is still to be read. */
  :host([compact]) .stale {
    grid-area: name;
    place-self: end start;
    max-width: calc(100% + 0.4rem);
    margin-bottom: 0.15rem;
    padding: 0 0.2rem;
    border-width: 1px;
    font-size: 0.6875rem;
    font-weight: 600;
    letter-spacing: -0.02em;
    line-height: 1.2;
    overflow: hidden;
    text-overflow: ellipsis;
  }
  :host([compact]) [data-live="no"]:not(:has([data-none="yes"])) h2 {
    align-self: start;
    padding-top: 0.15rem;
    font-size: 0.875rem;
    line-height: 1.2;
  }
  /* In the place of the figures while there are none. */
  :host([compact]) .stale[data-none="yes"] {
    grid-area: figures-v / figures-v / figures-a / figures-a;
    place-self: center end;
    margin: 0;
  }
  @container (max-width: 52rem) {
    :host(:not([compact])) .strip {
      grid-template:
        "state name gauge" auto
        "state figures-v figures-a" auto
        / 3.4rem minmax(0, 1fr) minmax(0, 1fr);
      min-height: 4.4rem;
      column-gap: 0.6rem;
    }
    :host(:not([compact])) :is(.second, .limit) {
      display: none;
    }
    :host(:not([compact])) .stale {
      grid-area: gauge;
      font-size: 0.875rem;
    }
    :host(:not([compact])) .figure {
      font-size: 1.8rem;
    }
  }
  @container (max-width: 17rem) {
    :host([compact]) .strip {
      grid-template:
        "state name name" auto
        "state figures-v figures-a" auto
        / 2.2rem minmax(0, 1fr) minmax(0, 1fr);
      column-gap: 0.2rem;
      padding-right: 0.3rem;
    }
    :host([compact]) .figure {
      font-size: 0.9375rem;
      grid-template-columns: 0.5em minmax(0, 1fr) auto;
    }
    :host([compact]) .output {
      font-size: 0.75rem;
    }
    :host([compact]) h2 {
      font-size: 0.8125rem;
      padding-left: 0.2rem;
    }
  }
  @media (forced-colors: active) {
    .output {
      forced-color-adjust: none;
      background: Canvas;
      color: CanvasText;
    }
    [data-output="on"] .output {
      background: CanvasText;
      color: Canvas;
    }
    [data-output="unknown"] .output {
      background: Canvas;
      color: CanvasText;
      border: 3px dashed CanvasText;
    }
    .ladder :is(.near, .at-limit) {
      fill: CanvasText;
    }
  }
`;
