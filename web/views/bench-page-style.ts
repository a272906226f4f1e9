import { css } from "lit";

/** The page's frame: the steps of the job on top, the live figures under them, the step's work, the cut at the bottom. */
export const benchPageStyle = css`
  .page {
    display: grid;
    grid-template-rows: auto auto auto auto minmax(0, 1fr) auto;
    height: 100dvh;
  }
  .top {
    border-bottom: 1px solid var(--hair);
  }
  nav {
    padding: 0.45rem 1rem 0.5rem;
  }
  .feeds {
    display: grid;
    grid-template-columns: repeat(auto-fit, minmax(min(100%, 17rem), 1fr));
    gap: 0.5rem;
    padding: 0 1rem 0.6rem;
  }
  .feeds:empty {
    display: none;
  }
  main {
    display: grid;
    grid-template-columns: minmax(0, 1fr) minmax(17rem, 22rem);
    min-height: 0;
    gap: 0.8rem;
    padding: 0 1rem 0.6rem;
  }
  .work,
  .side {
    overflow-y: auto;
    min-height: 0;
    scrollbar-gutter: stable;
  }
  .work:focus-visible,
  .side:focus-visible {
    outline-offset: -3px;
  }
  .power {
    display: grid;
    grid-template-rows: auto minmax(14rem, 1fr);
    gap: 0.6rem;
    min-height: 100%;
  }
  .power[hidden] {
    display: none;
  }
  .judged {
    display: grid;
    grid-template-columns: repeat(auto-fit, minmax(min(100%, 24rem), 1fr));
    gap: 0.7rem;
    min-height: 100%;
  }
  .judged[hidden] {
    display: none;
  }
  .judged run-trace {
    min-height: 20rem;
  }
  .side {
    display: grid;
    align-content: start;
    gap: 0.7rem;
  }
  @media (max-width: 56rem), (max-height: 34rem) {
    .page {
      height: auto;
      min-height: 100dvh;
    }
    main {
      grid-template-columns: minmax(0, 1fr);
    }
    .work,
    .side {
      overflow: visible;
    }
    .power {
      grid-template-rows: auto 22rem;
      min-height: 0;
    }
    .judged run-trace {
      height: 22rem;
    }
    cut-dock {
      position: sticky;
      bottom: 0;
      z-index: 2;
    }
  }
`;
