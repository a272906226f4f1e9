import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { FaultData } from "../../../shared/files/fault-data.ts";
import type { DiagnosisReadings } from "../../../shared/record/diagnosis.ts";
import type { JobEvent } from "../../../shared/record/job.ts";
import type { SweepPoint, SweepRail } from "../../../shared/sweep.ts";
import { filedReadings, laidOver, ofThisBoard } from "../../job/known/filed-readings.ts";
import type { JobStore } from "../../job/store/job-store.ts";
import { type GoodValue, groupVerdict } from "../../verdict/sweep/group-verdict.ts";
import { railAmps } from "../../verdict/sweep/part-amps.ts";

/** The end of a sweep as it is filed, without its diagnosis. */
export type SweepEnd = Omit<Extract<JobEvent, { kind: "sweep-ended" }>, "kind" | "sweep" | "diagnosis">;

/** Without points of a group and volts over parts: they are no readings of a rail. */
export const ofTheBoard = (rails: readonly SweepRail[]): SweepRail[] =>
  rails.filter((each) => each.group === undefined && each.across === undefined);

/** The points asked for beside the rails, judged: whether the points of a group read alike, and the amps of parts read across. */
export function askedBeside(
  given: {
    board: BoardFile;
    points: readonly SweepPoint[];
    group?: { group: string; good: ReadonlyMap<string, GoodValue> };
  },
  rails: readonly SweepRail[],
): Pick<SweepEnd, "alike" | "railAmps"> {
  const { group, board, points } = given;
  const quantity = points[0]?.quantity === "diode" ? "diode" : "ohms";
  const values = rails.map(({ rail, ohms, diodeVolts, standardError }) => ({
    point: rail,
    value: ohms ?? diodeVolts ?? null,
    standardError,
  }));
  return {
    ...(group === undefined ? {} : { alike: groupVerdict({ group: group.group, quantity }, values, group.good) }),
    ...(points.some((each) => each.kind === "part") ? { railAmps: railAmps(board, rails) } : {}),
  };
}

/** The readings of a sweep over what its job had before; they stand alone where the record cannot be read. */
export async function overFiled(
  given: { store: Pick<JobStore, "events">; job: string; board: BoardFile; data: FaultData },
  now: DiagnosisReadings,
  end: SweepEnd & { sweep: string },
): Promise<DiagnosisReadings> {
  const { store, job, board, data } = given;
  const log = await store.events(job).catch(() => []);
  const ended = { kind: "sweep-ended" as const, diagnosis: null, ...end };
  return laidOver(ofThisBoard(filedReadings(log, board, [ended]), board, data), now);
}
