import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { FaultData } from "../../../shared/files/fault-data.ts";
import { type DiagnosisReadings, DiagnosisReadings as Readings } from "../../../shared/record/diagnosis.ts";
import { type IdlePoints, idlePoints } from "../diagnosis/idle-points.ts";
import { boardModel } from "../diagnosis/model.ts";

/** The facts that a sweep must know of a board before it judges volts there. */
export interface SweepExpectations {
  /** Points that are down on a good board too, as things stand: by the host, the state of power, and the volts read so far. */
  idleAt(known: Pick<DiagnosisReadings, "host" | "state" | "volts" | "signals">): IdlePoints;
  /** True for a crystal's pin. */
  isBias(point: string): boolean;
}

/** The same rules as the diagnosis has, so that a sweep calls nothing a fault that the diagnosis cannot judge. */
export function sweepExpectations(board: BoardFile, data: FaultData): SweepExpectations {
  const { tree, roles } = boardModel(board, data);
  return {
    idleAt: (known) => idlePoints(Readings.parse(known), tree, roles),
    isBias: (point) => roles.signals.get(point) === "clock",
  };
}
