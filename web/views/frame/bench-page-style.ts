import { css } from "lit";

/** The page's frame: rounds and places on top, the feeds under them, the work, and at the bottom what is true and the cut. */
export const benchPageStyle = css`
  .page {
    display: grid;
    grid-template:
      "head" auto
      "banners" auto
      "places" auto
      "feeds" auto
      "main" minmax(0, 1fr)
      "dock" auto
      / minmax(0, 1fr);
    height: 100dvh;
  }
  page-head {
    grid-area: head;
    border-bottom: 1px solid var(--hair);
  }
  page-banners {
    grid-area: banners;
  }
  nav {
    grid-area: places;
    padding: 0.3rem 0 0.5rem;
  }
  cut-dock {
    grid-area: dock;
  }
  .feeds {
    grid-area: feeds;
    display: grid;
    gap: 0.35rem;
    padding: 0 1rem 0.6rem;
  }
  .feeds[data-compact="yes"] {
    grid-template-columns: repeat(auto-fit, minmax(min(100%, 16rem), 1fr));
  }
  .feeds:empty {
    display: none;
  }
  main {
    grid-area: main;
    display: grid;
    grid-template-columns: minmax(0, 1fr) minmax(17rem, 23rem);
    min-height: 0;
    gap: 0.8rem;
    padding: 0 1rem 0.6rem;
  }
  /* Both hands at the probes: the rail and the board have the whole width. */
  main[data-whole="yes"] {
    grid-template-columns: minmax(0, 1fr);
  }
  main[data-whole="yes"] .side {
    display: none;
  }
  .work,
  .side {
    overflow-y: auto;
    min-height: 0;
    min-width: 0;
    scrollbar-gutter: stable;
  }
  .work:focus-visible,
  .side:focus-visible {
    outline-offset: -3px;
  }
  .board {
    display: grid;
    grid-template-columns: minmax(0, 1fr);
    gap: 0.8rem;
  }
  .board[hidden] {
    display: none;
  }
  .side {
    display: grid;
    grid-template-columns: minmax(0, 1fr);
    align-content: start;
    gap: 0.7rem;
  }
  /* On paper: the place as a whole, without what only a hand needs. */
  @media print {
    .page {
      display: block;
      height: auto;
    }
    nav,
    cut-dock,
    .feeds,
    .side {
      display: none;
    }
    main {
      display: block;
      padding: 0;
    }
    .work {
      overflow: visible;
    }
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
    /* Figures and cut stay in sight, whatever is scrolled. */
    .feeds {
      position: sticky;
      top: 0;
      z-index: 2;
      padding: 0.2rem 0.5rem 0.3rem;
      background: var(--ground);
    }
    .feeds[data-compact="yes"] {
      grid-template-columns: repeat(auto-fit, minmax(min(100%, 12rem), 1fr));
      gap: 0.2rem;
    }
    cut-dock {
      position: sticky;
      bottom: 0;
      z-index: 3;
    }
  }
  /* One column: what to do next may come before the work, the other notes come after it. */
  @media screen and (max-width: 56rem), screen and (max-height: 34rem) {
    .side,
    side-notes {
      display: contents;
    }
  }
`;
