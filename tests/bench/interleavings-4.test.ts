import { test } from "vitest";
import { checkInterleavings } from "./interleavings.ts";

test("2,500 interleavings of seed 4 leave nothing on after an off, unwatched, or unanswered", async () => {
  await checkInterleavings(4, 2500);
}, 900_000);
