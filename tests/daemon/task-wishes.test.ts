import { expect, test } from "vitest";
import { wishOf } from "../../src/daemon/run/task-wishes.ts";

test("a first power-up takes how long it lasts from what was asked, and nothing else", () => {
  const asked = { keepOn: true, watchSeconds: 5, board: null, coldOhms: {} };
  expect(wishOf(null, asked)).toEqual({ keepOn: true, watchSeconds: 5 });
  expect(wishOf({ task: "cycle", cold: 1, warm: 0 } as never, { ...asked, keepOn: false })).toEqual({
    keepOn: false,
    watchSeconds: 5,
  });
});
