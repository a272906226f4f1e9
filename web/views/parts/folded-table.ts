import { css } from "lit";

/** A table of four columns that on a phone has the first cell of each row above the other three, so that no word of it is broken. Rows and cells need their roles said. */
export const foldedTable = css`
  .folded th {
    font-size: 0.875rem;
    hyphens: auto;
  }
  @media (max-width: 34rem) {
    .folded,
    .folded :is(thead, tbody) {
      display: block;
    }
    .folded tr {
      display: grid;
      grid-template-columns: 1fr 1fr 1.3fr;
      padding: 0.35rem 0;
      border-bottom: 1px solid var(--hair);
    }
    .folded :is(th, td) {
      padding: 0 0.3rem 0 0;
      border: 0;
      text-align: left;
      overflow-wrap: break-word;
      hyphens: auto;
    }
    .folded :is(th, td):first-child {
      grid-column: 1 / -1;
      font-weight: 700;
    }
    .folded thead th:first-child:empty {
      display: none;
    }
  }
`;
