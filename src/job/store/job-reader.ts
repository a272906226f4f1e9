import type { Kysely, Selectable } from "kysely";
import { BenchError, quoted } from "../../../shared/bench-error.ts";
import type { JobEvent } from "../../../shared/record/job.ts";
import type { JobTables } from "../database/job-tables.ts";
import type { RecordDatabase } from "../database/record-database.ts";
import { candidatesFor, findId } from "../find/find-id.ts";
import { factsOfJobs } from "../find/find-jobs.ts";
import { jobLister } from "../find/job-lister.ts";
import { similarDraws } from "../find/similar-draws.ts";
import { comparable } from "./event-facts.ts";
import type { JobStore } from "./job-store.ts";
import { storedEvent } from "./stored-form.ts";

export interface JobReader
  extends Pick<
    JobStore,
    | "findJob"
    | "findCapture"
    | "hasJob"
    | "events"
    | "list"
    | "search"
    | "similar"
    | "comebacksOf"
    | "everPassed"
    | "show"
    | "captures"
    | "jobRows"
  > {
  /** The row of a job; throws BenchError "bad-input" where there is none. */
  requireJob(id: string): Promise<Selectable<JobTables["job"]>>;
  /** The place of an event in its job, from 1. */
  placeOf(row: JobTables["job_event"]): Promise<number>;
}

/** The questions of a JobStore that change nothing; `dir` is named in errors. */
export function jobReader(db: Kysely<JobTables>, database: RecordDatabase, dir: string): JobReader {
  const requireJob: JobReader["requireJob"] = async (id) => {
    const row = await db.selectFrom("job").selectAll().where("id", "=", id).executeTakeFirst();
    if (row === undefined) throw new BenchError("bad-input", `There is no job ${quoted(id)} in ${dir}`);
    return row;
  };

  const rowsOf = (job: string) =>
    db.selectFrom("job_event").selectAll().where("job", "=", job).orderBy("stamp").orderBy("id").execute();

  const events: JobReader["events"] = async (job) =>
    (await rowsOf(job)).map((row, index) => storedEvent(row, index + 1));

  const capturesOf = () =>
    db
      .selectFrom("capture")
      .leftJoin("capture_end", "capture_end.capture", "capture.id")
      .select((each) => [
        "capture.id",
        "capture.job",
        "capture.run",
        each.fn.coalesce("capture_end.state", each.val<"open">("open")).as("state"),
      ]);

  const captures: JobReader["captures"] = async (job) => {
    const rows = await capturesOf().where("capture.job", "=", job).orderBy("capture.id").execute();
    return rows.map(({ id, run, state }) => ({ id, run, state }));
  };

  const { search, list, linesOf } = jobLister(db, database);

  return {
    requireJob,
    events,
    captures,
    search,
    list,
    similar: (run, most) => similarDraws(db, run, most),

    async comebacksOf(job) {
      const rows = await db
        .selectFrom("job_fact")
        .select("job")
        .distinct()
        .where("field", "=", "comeback-of")
        .where("value", "=", job)
        .orderBy("job")
        .execute();
      return rows.map((row) => row.job);
    },

    async hasJob(job) {
      return (await db.selectFrom("job").select("id").where("id", "=", job).executeTakeFirst()) !== undefined;
    },

    async placeOf({ job, stamp, id }) {
      const { place } = await db
        .selectFrom("job_event")
        .select((each) => each.fn.countAll<number>().as("place"))
        .where("job", "=", job)
        .where((each) =>
          each.or([each("stamp", "<", stamp), each.and([each("stamp", "=", stamp), each("id", "<=", id)])]),
        )
        .executeTakeFirstOrThrow();
      return Number(place);
    },

    async everPassed(board, newest) {
      const saying = (field: "result" | "board", value: string) =>
        db.selectFrom("job_fact").select("job").where("field", "=", field).where("value", "=", value);
      const rows = await db
        .selectFrom("job")
        .select("id")
        .where("id", "in", saying("result", "passed"))
        .where("id", "in", saying("board", comparable(board)))
        .orderBy("id", "desc")
        .limit(newest)
        .execute();
      return rows.map((row) => row.id);
    },

    async findJob(text) {
      const rows = await db
        .selectFrom("job")
        .selectAll()
        .where((each) => each.or(candidatesFor(text).map((pattern) => each("id", "like", pattern))))
        .orderBy("id")
        .execute();
      const ids = rows.map((row) => row.id);
      try {
        return findId(text, ids, "job");
      } catch (error) {
        if (!(error instanceof BenchError) || error.detail["fits"] === undefined) throw error;
      }
      // Several fit: only now are their titles worth reading.
      const some = rows.slice(0, 20);
      const facts = await factsOfJobs(
        db,
        some.map((row) => row.id),
      );
      const told = some.map((row) => ({ ...row, facts: facts.get(row.id) ?? new Map() }));
      const titles = new Map((await linesOf(told)).map((each) => [each.job, each.title]));
      return findId(text, ids, "job", (id) => (titles.get(id) ? `(${quoted(titles.get(id) ?? "")})` : ""));
    },

    async findCapture(text) {
      const rows = await capturesOf()
        .where((each) => each.or(candidatesFor(text).map((pattern) => each("capture.id", "like", pattern))))
        .orderBy("capture.id")
        .execute();
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
      const rows = await rowsOf(job);
      const hashes = rows.flatMap(({ body }) => {
        const event = JSON.parse(body) as JobEvent;
        const said = event.kind === "correction" ? event.event : event;
        return said.kind === "attachment" ? [said.sha256] : [];
      });
      return {
        job: row,
        events: rows,
        captures: await capturesOf().where("capture.job", "=", job).orderBy("capture.id").execute(),
        attachments:
          hashes.length === 0
            ? []
            : await db.selectFrom("attachment").selectAll().where("sha256", "in", hashes).orderBy("sha256").execute(),
      };
    },

    async show(job) {
      const row = await requireJob(job);
      const log = await events(job);
      const facts = (await factsOfJobs(db, [job])).get(job) ?? new Map();
      const [summary] = await linesOf([{ ...row, facts }]);
      if (summary === undefined) throw new Error(`no line for the job ${job}`);
      return { ...summary, captures: await captures(job), log };
    },
  };
}
