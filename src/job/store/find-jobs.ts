import { type Expression, type ExpressionBuilder, type Kysely, type SqlBool, sql } from "kysely";
import { type CurrentFacts, currentFacts, isDone, lastValue } from "./current-facts.ts";
import { comparable, wordsIn } from "./event-facts.ts";
import type { FactField, JobTables } from "./job-tables.ts";
import type { RecordDatabase } from "./record-database.ts";

/** The terms by which jobs are looked for; what is left out does not matter. Texts are compared without case and accents. */
export interface JobQuery {
  /** Words that all stand somewhere in the job, or begin a word of it. */
  words?: string;
  /** A part of the board's kind, the owner's name, the serial number, the likeliest fault, a part that was replaced. */
  board?: string;
  owner?: string;
  serial?: string;
  fault?: string;
  part?: string;
  /** The class of the last draw that was judged, and the last result, in full. */
  class?: string;
  result?: string;
  stage?: string;
  /** Opened then or later, ISO 8601 in UTC. */
  since?: string;
  state?: "open" | "done";
  /** Only jobs after this one in the list, which is newest first. */
  after?: string;
  most: number;
}

export interface FoundJob {
  id: string;
  created_at: string;
  facts: CurrentFacts;
}

/** Any value that a job ever said counts: a board has one owner, but two sweeps may have found two faults. */
const ANY: readonly FactField[] = ["board", "owner", "serial", "fault", "part"];
const LAST: readonly FactField[] = ["class", "result", "stage"];
/** Jobs looked at in one go at most: at first as many as are asked for, more where few of them fit. */
const LOOKED_AT = 1000;

/**
 * The jobs a query means, newest first, at most `most`, and whether there are more. An index finds those that ever said
 * what is asked; what they say today then decides, so that what was corrected does not count.
 */
export async function findJobs(
  db: Kysely<JobTables>,
  database: RecordDatabase,
  query: JobQuery,
): Promise<{ jobs: FoundJob[]; more: boolean }> {
  const found: FoundJob[] = [];
  let after = query.after;
  for (let look = Math.min(query.most + 1, LOOKED_AT); ; look = Math.min(4 * look, LOOKED_AT)) {
    const rows = await db
      .selectFrom("job")
      .selectAll()
      .where((each) => each.and(candidates(each, database, query)))
      .$if(after !== undefined, (select) => select.where("id", "<", after ?? ""))
      .orderBy("id", "desc")
      .limit(look)
      .execute();
    const facts = await factsOfJobs(
      db,
      rows.map((row) => row.id),
    );
    for (const row of rows) {
      const known = facts.get(row.id) ?? new Map();
      if (!fits(known, query)) continue;
      if (found.length === query.most) return { jobs: found, more: true };
      found.push({ ...row, facts: known });
    }
    if (rows.length < look) return { jobs: found, more: false };
    after = rows.at(-1)?.id;
  }
}

type Each = ExpressionBuilder<JobTables, "job">;

function candidates(each: Each, database: RecordDatabase, query: JobQuery): Expression<SqlBool>[] {
  const all: Expression<SqlBool>[] = [];
  const words = wordsIn(query.words ?? "");
  if (words.length > 0) all.push(each("job.id", "in", database.jobsWithWords(words)));
  for (const field of ANY) {
    const asked = askedOf(query, field);
    if (asked === null) continue;
    const pattern = `%${asked.replace(/[\\%_]/g, "\\$&")}%`;
    const holds = sql<SqlBool>`value like ${pattern} escape ${"\\"}`;
    all.push(each("job.id", "in", each.selectFrom("job_fact").select("job").where("field", "=", field).where(holds)));
  }
  for (const field of LAST) {
    const asked = askedOf(query, field);
    if (asked === null) continue;
    all.push(each.exists(saidLast(each, field, asked)));
  }
  if (query.since !== undefined) all.push(each("job.created_at", ">=", query.since));
  if (query.state === "done")
    all.push(each("job.id", "in", each.selectFrom("job_fact").select("job").where("field", "in", ["result", "stage"])));
  if (query.state === "open") all.push(each.not(each.exists(surelyDone(each))));
  return all;
}

/** That a job said a value last of all of a field. Where it was corrected this does not tell, and every value it ever said is taken. */
function saidLast(each: Each, field: FactField, value: string) {
  const latest = each
    .selectFrom("job_fact as other")
    .select((fact) => fact.fn.max("other.stamp").as("stamp"))
    .whereRef("other.job", "=", "job.id")
    .where("other.field", "=", field);
  const corrected = each
    .selectFrom("job_fact as other")
    .select("other.job")
    .whereRef("other.job", "=", "job.id")
    .where("other.field", "=", "corrected");
  return each
    .selectFrom("job_fact as said")
    .select("said.job")
    .whereRef("said.job", "=", "job.id")
    .where("said.field", "=", field)
    .where("said.value", "=", value)
    .where((fact) => fact.or([fact("said.stamp", "=", latest), fact.exists(corrected)]));
}

/** That a job has a result, and nothing that may have opened it again. */
const surelyDone = (each: Each) =>
  each
    .selectFrom("job_fact as done")
    .select("done.job")
    .whereRef("done.job", "=", "job.id")
    .where("done.field", "=", "result")
    .where((done) =>
      done.not(
        done.exists(
          done
            .selectFrom("job_fact as other")
            .select("other.job")
            .whereRef("other.job", "=", "done.job")
            .where((fact) =>
              fact.or([
                fact("other.field", "in", ["stage", "corrected"]),
                fact.and([fact("other.field", "=", "result"), fact("other.value", "=", "returned")]),
              ]),
            ),
        ),
      ),
    );

function askedOf(query: JobQuery, field: FactField): string | null {
  const text = comparable(query[field as keyof JobQuery & FactField] ?? "");
  return text === "" ? null : text;
}

function fits(facts: CurrentFacts, query: JobQuery): boolean {
  for (const field of ANY) {
    const asked = askedOf(query, field);
    if (asked !== null && !(facts.get(field) ?? []).some(({ value }) => value.includes(asked))) return false;
  }
  for (const field of LAST) {
    const asked = askedOf(query, field);
    if (asked !== null && lastValue(facts, field) !== asked) return false;
  }
  return query.state === undefined || isDone(facts) === (query.state === "done");
}

/** The facts of each of these jobs today. */
export async function factsOfJobs(db: Kysely<JobTables>, jobs: readonly string[]): Promise<Map<string, CurrentFacts>> {
  if (jobs.length === 0) return new Map();
  const rows = await db.selectFrom("job_fact").selectAll().where("job", "in", jobs).execute();
  const byJob = new Map<string, typeof rows>();
  for (const row of rows) {
    const known = byJob.get(row.job);
    if (known === undefined) byJob.set(row.job, [row]);
    else known.push(row);
  }
  return new Map([...byJob].map(([job, facts]) => [job, currentFacts(facts)]));
}
