import { type Expression, type ExpressionBuilder, type Kysely, type SqlBool, sql } from "kysely";
import type { FactField, JobTables, LastField } from "../database/job-tables.ts";
import type { RecordDatabase } from "../database/record-database.ts";
import { comparable, wordsIn } from "../store/event-facts.ts";
import { type CurrentFacts, currentFacts, isDone, lastValue } from "./current-facts.ts";

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
const LAST: readonly LastField[] = ["class", "result", "stage"];
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
    const candidatesOf = (areCorrected: boolean) =>
      db
        .selectFrom("job")
        .selectAll()
        .where((each) => each.and(candidates(each, { database, query, areCorrected })))
        .$if(after !== undefined, (select) => select.where("id", "<", after ?? ""))
        .orderBy("id", "desc")
        .limit(look)
        .execute();
    const corrected = asksForLast(query) ? await candidatesOf(true) : [];
    const rows = newest([...corrected, ...(await candidatesOf(false))], look);
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

const asksForLast = (query: JobQuery): boolean =>
  query.state !== undefined || LAST.some((field) => askedOf(query, field) !== null);

function newest<T extends { id: string }>(rows: readonly T[], most: number): T[] {
  const once = new Map(rows.map((row) => [row.id, row]));
  return [...once.values()].sort((a, b) => (a.id < b.id ? 1 : -1)).slice(0, most);
}

/** `areCorrected`: those where the last value is not known without the corrections, and anything may be. */
function candidates(
  each: Each,
  { database, query, areCorrected }: { database: RecordDatabase; query: JobQuery; areCorrected: boolean },
): Expression<SqlBool>[] {
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
  if (query.since !== undefined) all.push(each("job.created_at", ">=", query.since));
  if (areCorrected) {
    all.push(each("job.id", "in", each.selectFrom("job_fact").select("job").where("field", "=", "corrected")));
    return all;
  }
  const said = each.selectFrom("job_last").select("job");
  for (const field of LAST) {
    const asked = askedOf(query, field);
    if (asked !== null) all.push(each("job.id", "in", said.where("field", "=", field).where("value", "=", asked)));
  }
  if (query.state === "done") all.push(each("job.id", "in", said.where("field", "in", ["result", "stage"])));
  if (query.state === "open")
    all.push(each.not(each.exists(handedBack(each))), each.not(each.exists(withResult(each))));
  return all;
}

const handedBack = (each: Each) =>
  each
    .selectFrom("job_last")
    .select("job_last.job")
    .whereRef("job_last.job", "=", "job.id")
    .where("field", "=", "stage")
    .where("value", "=", "handed-back");

/** That the last result of a job without stages ends it. */
const withResult = (each: Each) =>
  each
    .selectFrom("job_last as done")
    .select("done.job")
    .whereRef("done.job", "=", "job.id")
    .where("done.field", "=", "result")
    .where("done.value", "in", ["passed", "failed"])
    .where((done) =>
      done.not(
        done.exists(
          done
            .selectFrom("job_last as stage")
            .select("stage.job")
            .whereRef("stage.job", "=", "done.job")
            .where("stage.field", "=", "stage"),
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
