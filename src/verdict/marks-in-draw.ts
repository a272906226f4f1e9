import type { DrawInput, DrawMark } from "../../shared/draw-input.ts";
import type { DrawClass } from "../../shared/draw-verdict.ts";
import type { BoardFile } from "../../shared/files/board-file.ts";
import { sayAmps, sayMs } from "../../shared/words/amounts.ts";
import { medianOf } from "../analysis/quantile.ts";
import type { Watch } from "./watch.ts";

/** The draw before and after a mark is that of so much time on either side (common practice, no source). */
const SIDE_MS = 2000;
/** Marks closer together have one draw behind them; one closer to the start of the watch has none before it (common practice, no source). */
const APART_MS = 500;
/** A draw that changed by less did not answer; as a share of it, and at least the meter's own error. */
const LEAST_CHANGE = 0.1;
/** Draws that a board may have which was not asked for more. */
const WAITING: readonly DrawClass[] = ["standby-only", "partly-up"];

/**
 * A person's actions while the board was on, each with the draw before and after it; and, on a board with states of power that nobody
 * said was brought further, that little draw is expected until then.
 */
export function markSentences({ marks = [], board }: DrawInput, watch: Watch | null, drawn: DrawClass): string[] {
  const said = marks.map((mark) => {
    const next = marks.find((each) => each.atMs > mark.atMs + APART_MS);
    return saysMark(mark, next?.atMs ?? Number.POSITIVE_INFINITY, watch);
  });
  const waits = WAITING.includes(drawn) ? nextState(board, marks) : null;
  if (waits !== null)
    said.push(
      `This board only comes up further after ${waits}, which was not stated as done; until then it draws little.`,
    );
  return said;
}

function saysMark(mark: DrawMark, untilMs: number, watch: Watch | null): string {
  const when = `At ${sayMs(mark.atMs)} a person noted "${mark.text}"`;
  if (watch === null) return `${when}.`;
  const endMs = Math.min(untilMs, watch.startMs + watch.lengthMs);
  const isSettled = mark.atMs - watch.startMs >= APART_MS;
  const before = isSettled ? medianBetween(watch, Math.max(watch.startMs, mark.atMs - SIDE_MS), mark.atMs) : Number.NaN;
  const after = medianBetween(watch, Math.max(mark.atMs + 1, endMs - SIDE_MS), endMs);
  if (!Number.isFinite(before) || !Number.isFinite(after)) return `${when}.`;
  const least = Math.max(LEAST_CHANGE * Math.abs(before), 3 * watch.standardU, 3 * watch.stepAmps);
  if (Math.abs(after - before) > least) return `${when}: the draw went from ${sayAmps(before)} to ${sayAmps(after)}.`;
  const stayed = `${when}: the draw stayed at ${sayAmps(after)}`;
  return mark.state === null
    ? `${stayed}.`
    : `${stayed}, so nothing came up. Measure the line of the key, what reads it, and the enable of the first rail behind it.`;
}

function medianBetween({ atMs, amps }: Watch, fromMs: number, toMs: number): number {
  const inside: number[] = [];
  for (const [index, at] of atMs.entries()) if (at >= fromMs && at <= toMs) inside.push(amps[index] ?? Number.NaN);
  return medianOf(inside);
}

/** The step that brings the board to the state after the one that was said; null where there is none. */
function nextState(board: BoardFile | null, marks: readonly DrawMark[]): string | null {
  const states = Object.entries(board?.states ?? {});
  const reached = Math.max(0, ...marks.map(({ state }) => states.findIndex(([name]) => name === state)));
  return states[reached + 1]?.[1].after ?? null;
}
