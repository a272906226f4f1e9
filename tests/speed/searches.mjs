/** What is asked of a record that `tools/fill-record.mjs` filled; `since`: a date in the middle of it. */
export const SEARCHES = (since) => [
  { words: "capacitor" },
  { words: "tern picture" },
  { words: "c512 warm minute" },
  { owner: "finch" },
  { serial: "K100" },
  { board: "heron", result: "passed" },
  { class: "dead-short", state: "open" },
  { part: "inductor", since },
];
