import { type Kysely, type Selectable, sql } from "kysely";
import { BenchError, quoted } from "../../../shared/bench-error.ts";
import type { JobEvent, StoredEvent } from "../../../shared/job.ts";
import { eventsOf } from "./current-events.ts";
import { findId } from "./find-id.ts";
import type { JobStore } from "./job-store.ts";
import { jobSummary } from "./job-summary.ts";
import type { JobTables } from "./job-tables.ts";
import { storedEvent } from "./stored-form.ts";

export interface JobReader
  extends Pick<
    JobStore,
    "findJob" | "findCapture" | "events" | "list" | "everPassed" | "show" | "captures" | "jobRows"
  > {
  /** The row of a job; throws BenchError "bad-input" where there is none. */
  requireJob(id: string): Promise<Selectable<JobTables["job"]>>;
}

/** The questions of a JobStore that change nothing; `dir` is named in errors. */
export function jobReader(db: Kysely<JobTables>, dir: string): JobReader {
  const requireJob: JobReader["requireJob"] = async (id) => {
    const row = await db.selectFrom("job").selectAll().where("id", "=", id).executeTakeFirst();
    if (row === undefined) throw new BenchError("bad-input", `There is no job ${quoted(id)} in ${dir}`);
    return row;
  };

  const events: JobReader["events"] = async (job) => {
    const rows = await db.selectFrom("job_event").selectAll().where("job", "=", job).orderBy("seq").execute();
    return rows.map(storedEvent);
  };

  const captures: JobReader["captures"] = (job) =>
    db.selectFrom("capture").select(["id", "run", "state"]).where("job", "=", job).orderBy("id").execute();

  // Runs are large; of them only what a line tells is read, since a page may ask for it while a board is energised.
  const list: JobReader["list"] = async (newest) => {
    const jobs = await db
      .selectFrom("job")
      .innerJoin("job_event", "job_event.job", "job.id")
      .groupBy(["job.id", "job.created_at"])
      .select((each) => [
        "job.id",
        "job.created_at",
        each.fn.count<number>("job_event.id").as("events"),
        sql<number>`sum(${each.ref("job_event.kind")} = 'run-started')`.as("runs"),
        each.fn.max<string>("job_event.recorded_at").as("last"),
      ])
      .orderBy("job.id", "desc")
      .$if(newest !== undefined, (query) => query.limit(newest ?? 0))
      .execute();
    const from = jobs.at(-1)?.id ?? "";
    const verdictClass = sql<string | null>`json_extract(body, '$.end.verdict.class')`;
    const ended = await db
      .selectFrom("job_event")
      .select(["job", verdictClass.as("class")])
      .where("kind", "=", "run-ended")
      .where("job", ">=", from)
      .orderBy("seq")
      .execute();
    const classes = new Map(ended.flatMap((each) => (each.class === null ? [] : [[each.job, each.class] as const])));
    const telling = await db
      .selectFrom("job_event")
      .selectAll()
      .where("kind", "in", ["opened", "correction"])
      .where("job", ">=", from)
      .orderBy("seq")
      .execute();
    const logs = new Map<string, StoredEvent[]>();
    for (const row of telling) logs.set(row.job, [...(logs.get(row.job) ?? []), storedEvent(row)]);
    return jobs.map((job) =>
      jobSummary({ id: job.id, createdAt: job.created_at }, logs.get(job.id) ?? [], {
        events: Number(job.events),
        runs: Number(job.runs),
        lastEventAt: job.last,
        lastClass: classes.get(job.id) ?? null,
      }),
    );
  };

  const everPassed: JobReader["everPassed"] = async (board, newest) => {
    const passed = sql<string>`coalesce(json_extract(body, '$.result'), json_extract(body, '$.event.result'))`;
    const named = sql<string>`coalesce(json_extract(of_kind.body, '$.board'), json_extract(of_kind.body, '$.event.board'),
      json_extract(of_kind.body, '$.header.board.name'))`;
    const rows = await db
      .selectFrom("job_event")
      .select("job")
      .distinct()
      .where("kind", "in", ["result", "correction"])
      .where(passed, "=", "passed")
      .where((each) =>
        each.exists(
          each
            .selectFrom("job_event as of_kind")
            .select("of_kind.id")
            .whereRef("of_kind.job", "=", "job_event.job")
            .where("of_kind.kind", "in", ["opened", "correction", "sweep-started", "run-started"])
            .where(named, "=", board),
        ),
      )
      .orderBy("job", "desc")
      .limit(newest)
      .execute();
    return rows.map((row) => row.job);
  };

  return {
    requireJob,
    events,
    captures,
    list,
    everPassed,

    async findJob(text) {
      const rows = await db.selectFrom("job").select("id").orderBy("id").execute();
      const ids = rows.map((row) => row.id);
      try {
        return findId(text, ids, "job");
      } catch (error) {
        if (!(error instanceof BenchError) || error.detail["fits"] === undefined) throw error;
      }
      // Several fit: only now are their titles worth reading.
      const titles = new Map((await list()).map((each) => [each.job, each.title]));
      return findId(text, ids, "job", (id) => (titles.get(id) ? `(${quoted(titles.get(id) ?? "")})` : ""));
    },

    async findCapture(text) {
      const rows = await db.selectFrom("capture").selectAll().orderBy("id").execute();
      const id = findId(
        text,
        rows.map((row) => row.id),
        "capture",
      );
      const row = rows.find((each) => each.id === id);
      if (row === undefined) throw new BenchError("bad-input", `There is no capture ${quoted(text)} in ${dir}`);
      return row;
    },

    async jobRows(job) {
      const row = await requireJob(job);
      const rows = await db.selectFrom("job_event").selectAll().where("job", "=", job).orderBy("seq").execute();
      const hashes = new Set(
        rows.flatMap(({ body }) => {
          const event = JSON.parse(body) as JobEvent;
          const said = event.kind === "correction" ? event.event : event;
          return said.kind === "attachment" ? [said.sha256] : [];
        }),
      );
      const kept = await db.selectFrom("attachment").selectAll().orderBy("sha256").execute();
      return {
        job: row,
        events: rows,
        captures: await db.selectFrom("capture").selectAll().where("job", "=", job).orderBy("id").execute(),
        attachments: kept.filter((each) => hashes.has(each.sha256)),
      };
    },

    async show(job) {
      const row = await requireJob(job);
      const log = await events(job);
      const summary = jobSummary({ id: job, createdAt: row.created_at }, log, {
        events: log.length,
        runs: eventsOf(log, "run-started").length,
        lastEventAt: log.at(-1)?.recordedAt ?? row.created_at,
        lastClass: eventsOf(log, "run-ended").findLast(({ end }) => end.verdict !== null)?.end.verdict?.class ?? null,
      });
      return { ...summary, captures: await captures(job), log };
    },
  };
}
