import { test } from "vitest";
import { checkInterleavings, RUNS_A_SEED } from "./interleavings.ts";

test(`${RUNS_A_SEED} interleavings of seed 3 leave nothing on after an off, unwatched, or unanswered`, async () => {
  await checkInterleavings(3, RUNS_A_SEED);
}, 900_000);
