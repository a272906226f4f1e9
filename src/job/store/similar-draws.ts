import type { Kysely } from "kysely";
import { BenchError, quoted } from "../../../shared/bench-error.ts";
import type { DrawRow, JobTables } from "./job-tables.ts";

/** A draw like another one; `distance` counts standard uncertainties, root mean square over the figures that both have. */
export interface SimilarDraw {
  job: string;
  run: string;
  capture: string;
  board: string | null;
  class: string;
  plateauAmps: number | null;
  distance: number;
}

/** Figures beside the plateau are known to about this share, as they depend on when the meter read (common practice, no source). */
const SHARE = 0.1;
const FIGURES = ["peak_amps", "charge_coulombs", "input_farads", "short_ohms", "period_ms"] as const;
/** A figure that only one of two has counts as this many uncertainties. */
const LACKING = 3;
const FIRST_LOOK = 500;

/**
 * The draws most like that of `run`, nearest first, never itself. Throws BenchError "bad-input" where the run has no draw
 * that was judged.
 */
export async function similarDraws(db: Kysely<JobTables>, run: string, most: number): Promise<SimilarDraw[]> {
  const own = await db.selectFrom("draw").selectAll().where("run", "=", run).executeTakeFirst();
  if (own === undefined) throw new BenchError("bad-input", `The run ${quoted(run)} has no verdict`);
  for (let look = FIRST_LOOK; ; look *= 8) {
    const { rows, reachedAmps } = await nearestPlateaus(db, own, look);
    const ranked = rows
      .filter((row) => row.run !== run)
      .map((row) => ({ row, distance: distanceOf(own, row) }))
      .sort((a, b) => a.distance - b.distance || (a.row.run < b.row.run ? 1 : -1))
      .slice(0, most);
    const worst = ranked.length < most ? Number.POSITIVE_INFINITY : (ranked.at(-1)?.distance ?? 0);
    if (reachedAmps === null || worst <= leastBeyond(own, reachedAmps)) return ranked.map(similar);
  }
}

/** The draws whose plateaus are nearest on each side, and how far they reach; null: there are no others. */
async function nearestPlateaus(
  db: Kysely<JobTables>,
  own: DrawRow,
  each: number,
): Promise<{ rows: DrawRow[]; reachedAmps: number | null }> {
  const amps = own.plateau_amps;
  const all = db.selectFrom("draw").selectAll();
  if (amps === null) {
    // Of what never settled only what never settled either is like it.
    const rows = await all.where("plateau_amps", "is", null).orderBy("run", "desc").limit(20_000).execute();
    return { rows, reachedAmps: null };
  }
  const below = await all.where("plateau_amps", "<=", amps).orderBy("plateau_amps", "desc").limit(each).execute();
  const above = await all.where("plateau_amps", ">", amps).orderBy("plateau_amps").limit(each).execute();
  const edges = [below, above].flatMap((rows) =>
    rows.length < each ? [] : [Math.abs((rows.at(-1)?.plateau_amps ?? amps) - amps)],
  );
  return { rows: [...below, ...above], reachedAmps: edges.length === 0 ? null : Math.min(...edges) };
}

/** No draw whose plateau is further off than `amps` can be nearer than this. A supply is taken to be at most ten times as unsure as this one. */
function leastBeyond(own: DrawRow, amps: number): number {
  const unsure = Math.max(own.plateau_u ?? 0, 1e-6);
  return amps / (Math.hypot(unsure, 10 * unsure) * Math.sqrt(1 + FIGURES.length));
}

function distanceOf(a: DrawRow, b: DrawRow): number {
  const off: number[] = [];
  if (a.plateau_amps !== null && b.plateau_amps !== null)
    off.push((a.plateau_amps - b.plateau_amps) / Math.max(1e-6, Math.hypot(a.plateau_u ?? 0, b.plateau_u ?? 0)));
  for (const figure of FIGURES) {
    const [one, other] = [a[figure], b[figure]];
    if (one === null && other === null) continue;
    if (one === null || other === null) off.push(LACKING);
    else off.push((one - other) / Math.max(1e-12, SHARE * Math.hypot(one, other)));
  }
  return off.length === 0 ? 0 : Math.hypot(...off) / Math.sqrt(off.length);
}

const similar = ({ row, distance }: { row: DrawRow; distance: number }): SimilarDraw => ({
  job: row.job,
  run: row.run,
  capture: row.capture,
  board: row.board,
  class: row.class,
  plateauAmps: row.plateau_amps,
  distance,
});
