import { expect, test } from "vitest";
import type { DrawMark } from "../../shared/draw-input.ts";
import { verdictOnDraw } from "../../src/verdict/draw-verdict.ts";
import { BOARD, CLEAN_TOUCH, inputOf, OFF, type Part, traceOf, watched } from "./synthetic.ts";

/** 300 ms off, 300 ms touch, 300 ms off, 40 ms rise: the watch begins at 940 ms. */
const WATCH_FROM_MS = 940;
const board = {
  ...BOARD,
  states: {
    plugged: { after: "the adapter is plugged in", up: [] },
    on: { after: "the power key is pressed", up: [] },
  },
};
const KEY: DrawMark = { atMs: WATCH_FROM_MS + 6000, text: "the power key is pressed", state: "on" };

const said = (amps: Part["amps"], marks: DrawMark[] = []) =>
  verdictOnDraw(inputOf([traceOf([OFF, CLEAN_TOUCH, OFF, ...watched(15_000, amps)])], { board, marks }));

test("a key that wakes the board: the draw before and after it, and the class is that of the draw after it", () => {
  const verdict = said((ms) => (ms < 6200 ? 0.03 : 0.85), [KEY]);
  expect(verdict.class).toBe("normal");
  expect(verdict.because.join(" ")).toMatch(
    /At 6\.9\d? s a person noted "the power key is pressed": the draw went from 30(\.\d)? mA to 85\d mA\./,
  );
});

test("a key that nothing follows is said to have done nothing, with where to look", () => {
  const verdict = said(0.03, [KEY]);
  expect(verdict.class).toBe("standby-only");
  expect(verdict.because.join(" ")).toMatch(
    /the draw stayed at 30(\.\d)? mA, so nothing came up\. Measure the line of the key/,
  );
});

test("a board that waits for its key draws little, and that is said to be expected", () => {
  expect(said(0.03).because.join(" ")).toContain(
    "This board only comes up further after the power key is pressed, which was not stated as done",
  );
  expect(said(0.85).because.join(" ")).not.toContain("comes up further");
});

test("what is no state of power is told with the draw around it", () => {
  const spray: DrawMark = { atMs: WATCH_FROM_MS + 6000, text: "freeze spray on L4", state: null };
  expect(said((ms) => (ms < 6500 ? 0.85 : 0.7), [spray]).because.join(" ")).toMatch(
    /"freeze spray on L4": the draw went from 85\d mA to 70\d mA/,
  );
});
