import { css } from "lit";

/** The state of the bench is the largest thing of the page; the cut stands in its corner whatever else is said. */
export const cutDockStyle = css`
  :host {
    background: var(--sheet);
    border-top: 2px solid var(--ink);
  }
  .dock {
    display: grid;
    grid-template-columns: auto minmax(0, 1fr) auto auto;
    align-items: stretch;
    gap: 1rem;
    padding: 0.5rem 1rem 0.5rem 0;
    min-height: 6.4rem;
  }
  .power {
    display: grid;
    place-items: center;
    width: 8.5rem;
    margin-block: -0.5rem;
    font-size: 3.2rem;
    font-weight: 800;
    line-height: 1;
    border-right: 1px solid var(--hair);
    color: var(--ink-soft);
  }
  [data-power="on"] .power {
    background: var(--calm);
    color: var(--sheet);
  }
  /* Neither off nor on: it comes on again by itself. */
  [data-power="between"] .power {
    border: 6px double var(--warn);
    background: repeating-linear-gradient(135deg, var(--warn-fill) 0 0.8rem, var(--sheet) 0.8rem 1.6rem);
    color: var(--warn);
  }
  [data-power="ending"] .power {
    background: repeating-linear-gradient(90deg, var(--calm) 0 0.6rem, var(--calm-fill) 0.6rem 1.2rem);
    color: var(--ink);
  }
  [data-power="unknown"] .power {
    background: repeating-linear-gradient(135deg, var(--warn-fill) 0 16px, var(--sheet) 16px 32px);
    color: var(--warn);
  }
  .now {
    min-width: 0;
    display: grid;
    align-content: center;
    gap: 0.15rem;
  }
  .stage {
    font-size: 1.9rem;
    font-weight: 700;
    line-height: 1.1;
    overflow: hidden;
    text-overflow: ellipsis;
    white-space: nowrap;
  }
  [data-power="on"] .stage {
    font-size: 2.5rem;
  }
  .waits {
    display: flex;
    gap: 0.35em;
    overflow: hidden;
    white-space: nowrap;
  }
  .waits > .what,
  .waits > b {
    overflow: hidden;
    text-overflow: ellipsis;
  }
  /* The figure is never cut short: the words before it are. */
  .times {
    flex: none;
    color: var(--ink-soft);
    font-variant-numeric: tabular-nums;
  }
  .said {
    min-height: 1.3rem;
    font-size: 0.9375rem;
  }
  .said:empty {
    min-height: 0;
  }
  .deaf {
    padding: 0.1rem 0.5rem;
    border: 2px dashed var(--warn);
    border-radius: 6px;
    background: var(--warn-fill);
    color: var(--warn);
  }
  .end {
    align-self: center;
  }
  /* Never higher than it is: whatever is said beside it, it is where it was. */
  .cut {
    grid-column: 4;
    align-self: end;
    width: min(19rem, 32vw);
    height: 5.4rem;
    border: 4px solid var(--stop);
    border-radius: 14px;
    background: var(--cut);
    color: #fff;
    font-size: 2rem;
    font-weight: 800;
    line-height: 1.1;
    letter-spacing: 0.06em;
  }
  .cut small {
    display: block;
    font-size: 0.9375rem;
    font-weight: 600;
    letter-spacing: 0;
  }
  .question {
    display: grid;
    grid-template-columns: minmax(0, 1fr) auto;
    gap: 0.5rem 1.2rem;
    align-items: center;
    max-height: 45dvh;
    overflow-y: auto;
    padding: 0.6rem 1rem;
    border-top: 4px solid var(--warn);
    border-bottom: 1px solid var(--warn);
    background: var(--warn-fill);
  }
  .question h2 {
    font-size: 1.375rem;
  }
  .answers {
    display: flex;
    flex-wrap: wrap;
    gap: 0.6rem;
    align-items: center;
  }
  .no {
    min-height: 3.4rem;
    padding-inline: 1.6rem;
    border-width: 3px;
    font-size: 1.25rem;
    background: var(--ink);
    color: var(--ground);
  }
  .yes {
    background: transparent;
    border-width: 1px;
    font-weight: 500;
  }
  @media (max-width: 44rem), (max-height: 34rem) {
    .dock {
      grid-template:
        "power now now" auto
        "power end cut" auto
        / auto minmax(0, 1fr) auto;
      gap: 0.2rem 0.6rem;
      min-height: 5.4rem;
      padding: 0.3rem 0.5rem 0.3rem 0;
    }
    .power {
      grid-area: power;
      width: 4.4rem;
      margin-block: -0.3rem;
      font-size: 1.6rem;
    }
    .now {
      grid-area: now;
    }
    .stage,
    [data-power="on"] .stage {
      font-size: 1.2rem;
    }
    .waits {
      font-size: 0.875rem;
    }
    .end {
      grid-area: end;
      justify-self: start;
      padding-inline: 0.5rem;
      font-size: 0.875rem;
    }
    .cut {
      grid-area: cut;
      justify-self: end;
      width: min(13rem, 44vw);
      height: 3.1rem;
      font-size: 1.4rem;
    }
    .cut[data-long="yes"] {
      padding-inline: 0.2rem;
      font-size: clamp(0.9rem, 4.9vw, 1.4rem);
      letter-spacing: 0.02em;
    }
    .cut small {
      font-size: 0.75rem;
    }
    .question {
      grid-template-columns: minmax(0, 1fr);
      padding: 0.4rem 0.6rem;
    }
    .question h2 {
      font-size: 1.0625rem;
    }
    .no {
      min-height: max(2.6rem, var(--touch, 0px));
    }
  }
  @media (max-height: 34rem) and (min-width: 36rem) {
    .dock {
      grid-template: "power now end cut" auto / auto minmax(0, 1fr) auto auto;
      min-height: 3.6rem;
    }
    .end {
      align-self: center;
    }
    .question {
      grid-template-columns: minmax(0, 1fr) auto;
    }
  }
  @media (forced-colors: active) {
    .power {
      forced-color-adjust: none;
      background: Canvas;
      color: CanvasText;
      border: 3px solid CanvasText;
    }
    [data-power="on"] .power {
      background: CanvasText;
      color: Canvas;
    }
    [data-power="unknown"] .power {
      background: Canvas;
      color: CanvasText;
      border-style: dashed;
    }
  }
`;
