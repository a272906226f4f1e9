import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { StartOrder } from "../../../shared/record/start-order.ts";
import { sayMs } from "../../../shared/words/amounts.ts";
import { at } from "../../analysis/at.ts";
import { sampleMsOf } from "../../analysis/step/step-times.ts";
import { boardRolesOf } from "../diagnosis/board-roles.ts";
import { powerTreeOf } from "../diagnosis/power-tree.ts";
import { shippedFaultData } from "../diagnosis/shipped-fault-data.ts";
import { type Instant, startChecks } from "./start-checks.ts";
import { startProblems } from "./start-problems.ts";
import { entryOf, type SeenRail, startRail } from "./start-rail.ts";

/** A trace with a column for each rail, signal or feed, all on one time. */
export interface StartTrace {
  atMs: Float64Array;
  volts: ReadonlyMap<string, Float64Array>;
}

/**
 * The start of a board from one trace: when each rail began, rose and settled (IEEE Std 181-2011), whether each came after what it
 * needs, and the reset's and clock's timing against the card specification's least times.
 */
export function startOrder({ atMs, volts }: StartTrace, board: BoardFile): StartOrder {
  const tree = powerTreeOf(board);
  const { signals } = boardRolesOf(tree, shippedFaultData());
  const isClock = (name: string): boolean => ["clock", "ref-clock"].includes(signals.get(name) ?? "");
  const seen = new Map<string, SeenRail>();
  for (const [name, column] of volts)
    seen.set(name, startRail(atMs, column, { entry: entryOf(board, name), isClock: isClock(name) }));
  const reset = [...volts.keys()].find((name) => signals.get(name) === "reset");
  const checks = startChecks({
    supplies: suppliesOf(board, seen),
    clock: clockOf(seen, isClock),
    ...resetOf(
      reset === undefined ? undefined : seen.get(reset),
      atMs,
      reset === undefined ? undefined : volts.get(reset),
    ),
  });
  const problems = startProblems(board, seen, { isClock, reset: reset ?? null, checks });
  const sampleMs = sampleMsOf(atMs);
  return {
    board: board.name,
    rails: Object.fromEntries([...seen].map(([name, { rail }]) => [name, rail])),
    order: [...seen]
      .flatMap(([name, { rail }]) => (rail.beginsMs === null ? [] : [{ name, beginsMs: rail.beginsMs }]))
      .sort((a, b) => a.beginsMs - b.beginsMs)
      .map(({ name }) => name),
    checks,
    problems: problems.map(({ text }) => text),
    about: problems.map(({ about }) => about),
    notes: notesOf(seen, sampleMs),
    sampleMs: Number.isFinite(sampleMs) ? sampleMs : null,
    rows: atMs.length,
  };
}

/** The last of what feeds the board to come up: feeds, and the rails that need nothing but a feed. */
function suppliesOf(board: BoardFile, seen: ReadonlyMap<string, SeenRail>): Instant | null {
  let last: Instant | null = null;
  for (const [name, { rail }] of seen) {
    const needs = board.rails[name]?.needs;
    if (needs !== undefined && !(needs.length > 0 && needs.every((each) => each.startsWith("feed:")))) continue;
    if (rail.upAtMs === null) return null;
    if (last === null || rail.upAtMs > last.atMs)
      last = { atMs: rail.upAtMs, expandedMs: rail.uncertainty.upAtMs ?? 0 };
  }
  return last;
}

function clockOf(seen: ReadonlyMap<string, SeenRail>, isClock: (name: string) => boolean): Instant | null {
  for (const [name, { stableMs, rail }] of seen)
    if (isClock(name) && stableMs !== null) return { atMs: stableMs, expandedMs: rail.uncertainty.beginsMs ?? 0 };
  return null;
}

/** Reset is active low: it ends with a rise through the middle; a fall after that begins another. */
function resetOf(
  reset: SeenRail | undefined,
  atMs: Float64Array,
  volts: Float64Array | undefined,
): { resetEnds: Instant | null; resetWidths: Instant[] } {
  const step = reset?.step ?? null;
  if (step === null || volts === undefined) return { resetEnds: null, resetWidths: [] };
  const [off, on] = [step.low + 0.3 * (step.high - step.low), step.low + 0.7 * (step.high - step.low)];
  const resetWidths: Instant[] = [];
  let fellMs: number | null = null;
  for (let i = step.p90.index; i < volts.length; i++) {
    const value = at(volts, i);
    if (fellMs === null && value < off) fellMs = at(atMs, i);
    else if (fellMs !== null && value > on) {
      resetWidths.push({ atMs: at(atMs, i) - fellMs, expandedMs: (2 * step.sampleMs) / Math.sqrt(6) });
      fellMs = null;
    }
  }
  return { resetEnds: { atMs: step.p50.atMs, expandedMs: 2 * step.p50.standardMs }, resetWidths };
}

function notesOf(seen: ReadonlyMap<string, SeenRail>, sampleMs: number): string[] {
  const notes: string[] = [];
  for (const [name, { rail, wasUp, step }] of seen) {
    if (wasUp) notes.push(`${name} was already up when the trace began.`);
    if (step !== null && step.settlesMs === null) notes.push(`${name} had not settled when the trace ended.`);
    if (rail.riseMs !== null && rail.riseMs < 3 * sampleMs)
      notes.push(`${name} rose within three samples: its rise time is at most ${sayMs(rail.riseMs + sampleMs)}.`);
  }
  return notes;
}
