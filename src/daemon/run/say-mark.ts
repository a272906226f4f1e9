import type { ActiveRun } from "./active-run.ts";

/** The outcome of a mark, in words. */
export type MarkAnswer = { filed: string } | { refused: string };

/**
 * Files what a person did to the board of a run under way. `text` null is "I press the key now": the board is then in the state of power
 * after the last one that was said. It changes nothing of the run.
 */
export function sayMark(run: ActiveRun, text: string | null): MarkAnswer {
  const states = Object.entries(run.header.board?.states ?? {});
  const reached = Math.max(0, ...run.marks.map(({ state }) => states.findIndex(([name]) => name === state)));
  const next = text === null ? states[reached + 1] : undefined;
  if (text === null && next === undefined)
    return {
      refused: "The board file names no further state of power; write what you did instead. Nothing was filed.",
    };
  const said = text ?? next?.[1].after ?? "";
  return run.mark(said, next?.[0] ?? null)
    ? { filed: said }
    : { refused: "The run has ended, or has no reading yet. Nothing was filed." };
}
