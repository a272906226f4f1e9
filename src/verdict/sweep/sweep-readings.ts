import type { DrawClass } from "../../../shared/draw-verdict.ts";
import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { ColdReadings } from "../../../shared/permit.ts";
import { DiagnosisReadings } from "../../../shared/record/diagnosis.ts";
import type { SweepRail } from "../../../shared/sweep.ts";

/**
 * Ohms as the permit and the diagnosis take them. What still rose past its low limit is at least that, and counts; what was below it while it
 * rose may come to anything: it is no short, and has to be measured again.
 */
export function coldOhmsIn(rails: Iterable<SweepRail>): ColdReadings {
  const cold: ColdReadings = {};
  for (const { rail, quantity, ohms, mostOhms, limits } of rails)
    if (quantity === "ohms" && ohms !== null && ohms !== undefined && !isUnderWay({ ohms, mostOhms, limits }))
      cold[rail] = typeof ohms === "number" ? Math.max(0, ohms) : ohms;
  return cold;
}

const isUnderWay = ({
  ohms,
  mostOhms,
  limits: [low],
}: Pick<SweepRail, "ohms" | "limits"> & { mostOhms: number | null | undefined }): boolean =>
  mostOhms !== undefined && typeof ohms === "number" && low !== null && ohms < low;

/** The values of a sweep as `diagnose` takes them; `cold` are readings from before it, which those of the sweep replace. */
export function diagnosisReadings(
  board: BoardFile,
  rails: readonly SweepRail[],
  known: { draw: DrawClass | null; cold: ColdReadings },
): DiagnosisReadings {
  const volts: Record<string, number | "pulsing"> = {};
  const signals: Record<string, number | "pulsing"> = {};
  for (const each of rails) {
    if (each.volts === null || each.volts === undefined) continue;
    const into = board.rails[each.rail]?.signal === true ? signals : volts;
    into[each.rail] = each.moving === "unsteady" ? "pulsing" : each.volts;
  }
  const isOhmsPoint = (point: string): boolean => point.split(":").every((end) => board.rails[end]?.signal !== true);
  const coldOhms = Object.fromEntries(
    Object.entries({ ...known.cold, ...coldOhmsIn(rails) }).filter(([point]) => isOhmsPoint(point)),
  );
  return DiagnosisReadings.parse({
    ...(known.draw === null ? {} : { draw: known.draw }),
    coldOhms,
    volts,
    signals,
    cannotReach: rails.filter((each) => each.how === "cannot-reach").map((each) => each.rail),
  });
}
