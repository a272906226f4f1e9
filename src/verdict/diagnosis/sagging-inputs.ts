import type { DrawClass } from "../../../shared/draw-verdict.ts";
import type { DiagnosisReadings } from "../../../shared/record/diagnosis.ts";
import type { PowerTree } from "./power-tree.ts";
import { voltsState } from "./reading-state.ts";

/** A feed that does not get its volts while it is on: its supply is in its limit. */
export interface Sag {
  feed: string;
  /** The feed at its connector, or its plane behind the fuse: where it was read. */
  point: string;
  volts: number;
  /** True where the converters behind it are locked out at these volts. */
  isLockedOut: boolean;
}

/** Draws that keep a supply in its limit. */
const IN_LIMIT: readonly DrawClass[] = ["dead-short", "overload"];
/** Leads and fuses lose less than the rest of this share of nominal (common practice, no source). */
const LOST_IN_LEADS = 0.85;
/** Converters lock out under about this share of their nominal input, where the board file does not say (common practice, no source). */
const LOCK_OUT = 0.6;
/** Place of "under" among the states of volts. */
const UNDER = 1;

/**
 * Feeds that read well under their nominal volts, and yet not nothing, where nothing says that the supply kept them up. A plane that is low
 * behind a feed that was read and is well is no such case: there the path between them is at fault.
 */
export function saggingInputs(readings: DiagnosisReadings, tree: PowerTree): Sag[] {
  const { draw } = readings;
  const isLimited = draw !== undefined && IN_LIMIT.includes(draw);
  if (draw !== undefined && draw !== "cannot-tell" && !isLimited) return [];
  return Object.entries(tree.board.feeds).flatMap(([feed, entry]): Sag[] => {
    const point = readings.volts[feed] === undefined ? tree.planeOf(feed) : feed;
    const volts = point === null ? undefined : readings.volts[point];
    if (point === null || typeof volts !== "number") return [];
    const { tolerance } = tree.board.rails[point] ?? entry;
    const nominal = entry.nominalVolts;
    const shares = voltsState(volts, { volts: nominal, ...(tolerance === undefined ? {} : { tolerance }) });
    if (shares.indexOf(Math.max(...shares)) !== UNDER || (!isLimited && volts > LOST_IN_LEADS * nominal)) return [];
    return [{ feed, point, volts, isLockedOut: volts < (entry.lockOutVolts?.[0] ?? LOCK_OUT * nominal) }];
  });
}

/** Why a point at or behind a sagging input says nothing of itself while it is low, a clause. */
export const sagBecause = ({ point }: Sag): string =>
  `${point} is far under its nominal voltage, as while the supply is in its current limit`;
