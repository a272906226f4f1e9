import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { StartCheck } from "../../../shared/record/start-order.ts";
import { sayMs, sayVolts } from "../../../shared/words/amounts.ts";
import { voltsLimits } from "../diagnosis/reading-state.ts";
import { entryOf, type SeenRail } from "./start-rail.ts";

export interface StartProblem {
  /** The rail or signal it is about. */
  about: string;
  text: string;
}

interface Judging {
  isClock: (name: string) => boolean;
  reset: string | null;
  checks: readonly StartCheck[];
}

/**
 * The faults of a start: a rail that stays away, ends or dips under its tolerance, overshoots it, comes up more than once, or
 * comes before what it needs is at 90 % of its volts; and each least time that was not met.
 */
export function startProblems(
  board: BoardFile,
  seen: ReadonlyMap<string, SeenRail>,
  { isClock, reset, checks }: Judging,
): StartProblem[] {
  const problems: StartProblem[] = [];
  for (const [name, each] of seen) {
    const say = (text: string): void => void problems.push({ about: name, text });
    if (each.rail.beginsMs === null) {
      if (!each.wasUp) say(`${name} does not come up: ${at(each)}.`);
      continue;
    }
    if (each.step !== null) ofLevel(board, name, each, say);
    ofNeeds(board, name, each, seen, isClock, say);
  }
  for (const check of checks) {
    if (check.result !== "not-met") continue;
    const measured = check.ms === null ? "not measured" : sayMs(check.ms, check.expandedMs);
    problems.push({ about: reset ?? "reset", text: `${check.what}: ${measured}; at least ${sayMs(check.leastMs)}.` });
  }
  return problems;
}

const at = ({ rail }: SeenRail): string => `at most ${rail.highVolts === null ? "nothing" : sayVolts(rail.highVolts)}`;

function ofLevel(board: BoardFile, name: string, { rail, endsLow }: SeenRail, say: (text: string) => void): void {
  const { low, high } = voltsLimits(entryOf(board, name));
  const { highVolts, overshoot, lowVolts, dips, starts } = rail;
  const noise = 2 * (rail.noiseVolts ?? 0);
  if (highVolts === null || lowVolts === null) return;
  if (highVolts < low) say(`${name} ends at ${sayVolts(highVolts)}, below its ${sayVolts(low)}.`);
  else if (highVolts > high) say(`${name} ends at ${sayVolts(highVolts)}, above its ${sayVolts(high)}.`);
  const peak = highVolts + (overshoot ?? 0) * (highVolts - lowVolts);
  if (highVolts <= high && peak - noise > high)
    say(`${name} overshoots to ${sayVolts(peak)}, above its ${sayVolts(high)}.`);
  const [dip] = dips;
  if (dip !== undefined)
    say(
      `${name} dips to ${sayVolts(dip.volts)} at ${sayMs(dip.atMs)} for ${sayMs(dip.lengthMs)}${dips.length > 1 ? `, and ${dips.length - 1} more times` : ""}.`,
    );
  if (starts > 1) say(`${name} comes up ${starts} times.`);
  if (endsLow) say(`${name} falls below its ${sayVolts(low)} and does not come back.`);
}

function ofNeeds(
  board: BoardFile,
  name: string,
  { rail }: SeenRail,
  seen: ReadonlyMap<string, SeenRail>,
  isClock: (name: string) => boolean,
  say: (text: string) => void,
): void {
  const { beginsMs, uncertainty } = rail;
  if (beginsMs === null) return;
  for (const need of board.rails[name]?.needs ?? []) {
    const point = need.replace(/^feed:/, "");
    const needed = seen.get(point);
    if (needed === undefined || needed.wasUp || isClock(point)) continue;
    const { upAtMs } = needed.rail;
    if (upAtMs === null) {
      say(`${name} begins at ${sayMs(beginsMs)}, but ${point}, which it needs, does not reach 90 %.`);
      continue;
    }
    const expanded = Math.hypot(uncertainty.beginsMs ?? 0, needed.rail.uncertainty.upAtMs ?? 0);
    if (beginsMs + expanded < upAtMs)
      say(`${name} begins at ${sayMs(beginsMs)}, before ${point}, which it needs, is up at ${sayMs(upAtMs)}.`);
  }
}
