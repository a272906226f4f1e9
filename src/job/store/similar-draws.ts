import type { Kysely } from "kysely";
import { BenchError, quoted } from "../../../shared/bench-error.ts";
import { distanceOf, leastBeyond, squareOfDistance } from "./draw-distance.ts";
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

const FIRST_LOOK = 500;

/**
 * The draws most like that of `run`, nearest first, never itself. Throws BenchError "bad-input" where the run has no draw
 * that was judged.
 */
export async function similarDraws(db: Kysely<JobTables>, run: string, most: number): Promise<SimilarDraw[]> {
  const own = await db.selectFrom("draw").selectAll().where("run", "=", run).executeTakeFirst();
  if (own === undefined) throw new BenchError("bad-input", `The run ${quoted(run)} has no verdict`);
  for (let look = FIRST_LOOK; ; look *= 8) {
    const { rows, reachedAmps } = await nearestOf(db, own, { look, most });
    const ranked = rows
      .map((row) => ({ row, distance: distanceOf(own, row) }))
      .sort((a, b) => a.distance - b.distance || (a.row.run < b.row.run ? 1 : -1))
      .slice(0, most);
    const worst = ranked.length < most ? Number.POSITIVE_INFINITY : (ranked.at(-1)?.distance ?? 0);
    if (reachedAmps === null || worst <= leastBeyond(own, reachedAmps)) return ranked.map(similar);
  }
}

/**
 * The nearest `most` of the draws whose plateaus are nearest on each side, `look` of them, and how far those reach; null: there are
 * no others.
 */
async function nearestOf(
  db: Kysely<JobTables>,
  own: DrawRow,
  { look, most }: { look: number; most: number },
): Promise<{ rows: DrawRow[]; reachedAmps: number | null }> {
  const amps = own.plateau_amps;
  const others = db.selectFrom("draw").selectAll().where("run", "!=", own.run);
  const nearest = (of: typeof others) =>
    db
      .selectFrom(of.as("draw"))
      .selectAll()
      .orderBy((each) => squareOfDistance(each, own))
      .orderBy("run", "desc")
      .limit(most)
      .execute();
  if (amps === null) {
    // Of what never settled only what never settled either is like it.
    const unsettled = others.where("plateau_amps", "is", null).orderBy("run", "desc").limit(20_000);
    return { rows: await nearest(unsettled), reachedAmps: null };
  }
  const sides = [
    others.where("plateau_amps", "<=", amps).orderBy("plateau_amps", "desc"),
    others.where("plateau_amps", ">", amps).orderBy("plateau_amps"),
  ];
  const rows: DrawRow[] = [];
  const edges: number[] = [];
  for (const side of sides) {
    rows.push(...(await nearest(side.limit(look))));
    const edge = await side
      .clearSelect()
      .select("plateau_amps")
      .offset(look - 1)
      .limit(1)
      .executeTakeFirst();
    if (edge !== undefined) edges.push(Math.abs((edge.plateau_amps ?? amps) - amps));
  }
  return { rows, reachedAmps: edges.length === 0 ? null : Math.min(...edges) };
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
