import { scenarioMatrix } from "./scenario-matrix.ts";

const DIALECTS = ["plain", "selection", "channel-list", "numbered"] as const;

// A dialect is spoken above the link: each is tried whole over TCP, and over ptys the boards take turns.
for (const [turn, dialect] of DIALECTS.entries())
  await scenarioMatrix(dialect, "pty", (place) => place % DIALECTS.length === turn);
