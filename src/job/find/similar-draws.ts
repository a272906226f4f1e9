import type { Kysely } from "kysely";
import { BenchError, quoted } from "../../../shared/bench-error.ts";
import type { DrawRow, JobTables } from "../database/job-tables.ts";
import { distanceOf, reachOf, squareOfDistance } from "./draw-distance.ts";

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

const FIRST_LOOK = 500;

/**
 * The draws most like that of `run`, nearest first, never itself. Throws BenchError "bad-input" where the run has no draw
 * that was judged.
 */
export async function similarDraws(db: Kysely<JobTables>, run: string, most: number): Promise<SimilarDraw[]> {
  const own = await db.selectFrom("draw").selectAll().where("run", "=", run).executeTakeFirst();
  if (own === undefined) throw new BenchError("bad-input", `The run ${quoted(run)} has no verdict`);
  const ranked = (rows: readonly DrawRow[]) =>
    rows
      .map((row) => ({ row, distance: distanceOf(own, row) }))
      .sort((a, b) => a.distance - b.distance || (a.row.run < b.row.run ? 1 : -1))
      .slice(0, most);
  const others = db.selectFrom("draw").selectAll().where("run", "!=", own.run);
  const nearest = (of: typeof others) =>
    db
      .selectFrom(of.as("draw"))
      .selectAll()
      .orderBy((each) => squareOfDistance(each, own))
      .orderBy("run", "desc")
      .limit(most)
      .execute();
  const amps = own.plateau_amps;
  if (amps === null) {
    // Of what never settled only what never settled either is like it.
    const unsettled = others.where("plateau_amps", "is", null).orderBy("run", "desc").limit(20_000);
    return ranked(await nearest(unsettled)).map(similar);
  }
  const look = Math.max(FIRST_LOOK, most);
  const below = others.where("plateau_amps", "<=", amps).orderBy("plateau_amps", "desc").limit(look);
  const above = others.where("plateau_amps", ">", amps).orderBy("plateau_amps").limit(look);
  const first = ranked([...(await nearest(below)), ...(await nearest(above))]);
  const worst = first.at(-1);
  if (worst === undefined || first.length < most) return first.map(similar);
  // One whose plateau is further off may still be nearer than the last of these, but none beyond this.
  const { unsure } = await db
    .selectFrom("draw")
    .select((each) => each.fn.max<number | null>("plateau_u").as("unsure"))
    .executeTakeFirstOrThrow();
  const reach = reachOf(own, worst.distance, unsure ?? 0);
  const within = others.where("plateau_amps", ">=", amps - reach).where("plateau_amps", "<=", amps + reach);
  return ranked(await nearest(within)).map(similar);
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
