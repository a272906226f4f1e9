import { expect, test } from "vitest";
import { counted } from "../../shared/words/counted.ts";

test("one thing is counted in the singular, none and several in the plural", () => {
  expect([0, 1, 2].map((count) => counted(count, "job"))).toEqual(["0 jobs", "1 job", "2 jobs"]);
  expect([1, 21].map((count) => counted(count, "entry", "entries"))).toEqual(["1 entry", "21 entries"]);
});
