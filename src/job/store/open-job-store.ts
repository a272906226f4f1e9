import { existsSync } from "node:fs";
import { join } from "node:path";
import { Readable } from "node:stream";
import { Kysely } from "kysely";
import { BenchError, quoted } from "../../../shared/bench-error.ts";
import { CorrectableEvent, type JobEvent, type StoredEvent } from "../../../shared/job.ts";
import { type KeptFile, keepBytes, keepFile } from "./attachment-store.ts";
import { backUpDatabase } from "./back-up-database.ts";
import { type DataLock, takeDataLock } from "./data-lock.ts";
import { BALLAST_BYTES, dropBallast, keepBallast } from "./disk-space.ts";
import { jobReader } from "./job-reader.ts";
import type { JobStore } from "./job-store.ts";

import type { JobTables } from "./job-tables.ts";
import { makeFolder } from "./make-folder.ts";
import { checkMigrated, migrate } from "./migrations.ts";
import { safeName } from "./safe-name.ts";
import { openSqliteFile } from "./sqlite-file.ts";
import { isDiskFull, storageProblem } from "./storage-problem.ts";
import { storedEvent, storedForm } from "./stored-form.ts";
import { uuidV7 } from "./uuid-v7.ts";

export interface OpenJobStoreOptions {
  /** Looks only; works while another process owns the directory. Default false. */
  readOnly?: boolean;
  /** How the owner is named to a second one. Default the program's own command line. */
  command?: string;
  /** Wall clock, Unix milliseconds. */
  nowMs?: () => number;
  /** Room kept to be given up on a full disk; 0 keeps none. Default 16 MiB. */
  ballastBytes?: number;
  /** The database grows to this many pages of 4 KiB and no further. Default: as the disk allows. */
  maxPages?: number;
  /** Told in a sentence what the record had to do to go on. */
  onTrouble?: (sentence: string) => void;
}

export const databasePath = (dir: string): string => join(dir, "firstamp.db");

/** Whether there is a record in `dir` at all. */
export const hasJobStore = (dir: string): boolean => existsSync(databasePath(dir));

/**
 * Opens the record in `dir`, making it where there is none, and owns the directory until `close`. Captures that a killed
 * process left open become "recovered". Throws BenchError "data-in-use", "data-not-writable", "disk-full", or "bad-input"
 * for a file that is damaged, of a newer program, or (read-only) not there.
 */
export async function openJobStore(dir: string, options: OpenJobStoreOptions = {}): Promise<JobStore> {
  const readOnly = options.readOnly ?? false;
  if (readOnly && !hasJobStore(dir)) throw new BenchError("bad-input", `There is no job record in ${dir}`);
  const command = options.command ?? ["firstamp", ...process.argv.slice(2)].join(" ");
  const lock: DataLock | null = readOnly ? null : takeDataLock(dir, command);
  let store: Kysely<JobTables> | undefined;
  try {
    const file = openSqliteFile(databasePath(dir), {
      readOnly,
      ...(options.maxPages === undefined ? {} : { maxPages: options.maxPages }),
    });
    const db = new Kysely<JobTables>({ dialect: file.dialect });
    store = db;
    if (readOnly) await checkMigrated(db, dir);
    else {
      await migrate(db, dir);
      makeFolder(join(dir, "captures"));
      keepBallast(dir, options.ballastBytes ?? BALLAST_BYTES);
      await db.updateTable("capture").set({ state: "recovered" }).where("state", "=", "open").execute();
    }
    return jobStore({ dir, readOnly, db, lock, copyTo: file.copyTo, options });
  } catch (error) {
    await store?.destroy();
    lock?.release();
    throw storageProblem(error, `Cannot open the job record in ${dir}`);
  }
}

interface Parts {
  dir: string;
  readOnly: boolean;
  db: Kysely<JobTables>;
  lock: DataLock | null;
  copyTo: (path: string) => void;
  options: OpenJobStoreOptions;
}

function jobStore({ dir, readOnly, db, lock, copyTo, options }: Parts): JobStore {
  const nowIso = () => new Date((options.nowMs ?? Date.now)()).toISOString();

  /** Runs a write; on a full disk gives up the ballast and tries once more. */
  const write = async <T>(tried: string, run: () => Promise<T>): Promise<T> => {
    if (readOnly) throw new BenchError("data-not-writable", `${tried}: the record was opened to look only`);
    try {
      return await run();
    } catch (error) {
      if (!isDiskFull(error) || !dropBallast(dir)) throw storageProblem(error, tried);
      options.onTrouble?.(
        `The disk with the record in ${dir} is full; the room kept for this was given up. Make room soon.`,
      );
    }
    try {
      return await run();
    } catch (error) {
      throw storageProblem(error, tried);
    }
  };

  const reader = jobReader(db, dir);

  const checkCorrection = async (job: string, event: JobEvent) => {
    if (event.kind !== "correction") return;
    const original = await db.selectFrom("job_event").selectAll().where("id", "=", event.of).executeTakeFirst();
    if (original?.job !== job)
      throw new BenchError("bad-input", `The correction names ${event.of}, which is no event of this job`);
    if (!CorrectableEvent.safeParse(JSON.parse(original.body)).success) {
      throw new BenchError(
        "bad-input",
        `An event of kind "${original.kind}" cannot be corrected: it is what the bench saw`,
      );
    }
    if (original.kind !== event.event.kind) {
      throw new BenchError(
        "bad-input",
        `The correction is a "${event.event.kind}"; it should be a "${original.kind}" as the original`,
      );
    }
  };

  const checkKept = async (event: JobEvent) => {
    const said = event.kind === "correction" ? event.event : event;
    if (said.kind !== "attachment") return;
    const kept = await db.selectFrom("attachment").selectAll().where("sha256", "=", said.sha256).executeTakeFirst();
    if (kept === undefined || kept.bytes !== said.bytes || kept.media_type !== said.mediaType) {
      throw new BenchError(
        "bad-input",
        `The attachment ${said.sha256} is not kept in ${dir} as the event says; attach the file first`,
      );
    }
  };

  const insert = async (on: Kysely<JobTables>, job: string, event: JobEvent, id: string): Promise<StoredEvent> => {
    const body = storedForm(event);
    // One statement: numbering and filing cannot come apart, and a repeat falls on the id.
    await on
      .insertInto("job_event")
      .columns(["id", "job", "seq", "recorded_at", "kind", "body"])
      .expression((build) =>
        build
          .selectFrom("job_event")
          .where("job", "=", job)
          .select((each) => [
            each.val(id).as("id"),
            each.val(job).as("job"),
            each(each.fn.coalesce(each.fn.max<number>("seq"), each.lit(0)), "+", each.lit(1)).as("seq"),
            each.val(nowIso()).as("recorded_at"),
            each.val(event.kind).as("kind"),
            each.val(body).as("body"),
          ]),
      )
      .onConflict((conflict) => conflict.column("id").doNothing())
      .execute();
    const row = await on.selectFrom("job_event").selectAll().where("id", "=", id).executeTakeFirstOrThrow();
    if (row.job !== job || row.body !== body) {
      throw new BenchError("bad-input", `The event id ${id} was used before for another event; nothing was filed`);
    }
    return storedEvent(row);
  };

  const appendEvent: JobStore["appendEvent"] = async (job, event, { id = uuidV7() } = {}) => {
    await reader.requireJob(job);
    await checkCorrection(job, event);
    await checkKept(event);
    return await write(`Cannot file the event in ${dir}`, () => insert(db, job, event, id));
  };

  const attachKept = async (
    job: string,
    of: { name: string; caption: string | undefined },
    keep: () => Promise<KeptFile>,
  ): Promise<StoredEvent> => {
    await reader.requireJob(job);
    return await write(`Cannot attach ${quoted(of.name)}`, async () => {
      const kept = await keep();
      await db
        .insertInto("attachment")
        .values({ sha256: kept.sha256, bytes: kept.bytes, media_type: kept.mediaType })
        .onConflict((conflict) => conflict.column("sha256").doNothing())
        .execute();
      return await appendEvent(job, {
        kind: "attachment",
        ...kept,
        name: safeName(of.name),
        caption: of.caption ?? null,
      });
    });
  };

  return {
    dir,
    readOnly,
    captureDir: join(dir, "captures"),
    findJob: reader.findJob,
    findCapture: reader.findCapture,
    events: reader.events,
    list: reader.list,
    everPassed: reader.everPassed,
    show: reader.show,
    captures: reader.captures,
    jobRows: reader.jobRows,
    appendEvent,

    async newJob({ title, board } = {}) {
      const id = uuidV7();
      const event: JobEvent = { kind: "opened", title: title ?? null, board: board ?? null };
      storedForm(event);
      await write(`Cannot open a job in ${dir}`, () =>
        db.transaction().execute(async (all) => {
          await all.insertInto("job").values({ id, created_at: nowIso() }).execute();
          await insert(all, id, event, uuidV7());
        }),
      );
      return id;
    },

    async attach(job, path, { caption } = {}) {
      return await attachKept(job, { name: path, caption }, () => keepFile(dir, path));
    },

    async attachBytes(job, bytes, { name, caption }) {
      return await attachKept(job, { name, caption }, () => keepBytes(dir, Readable.from([bytes]), name));
    },

    async addCapture(job, { id, run }) {
      await reader.requireJob(job);
      await write(`Cannot note the capture in ${dir}`, () =>
        db
          .insertInto("capture")
          .values({ id, job, run, state: "open" })
          .onConflict((conflict) => conflict.column("id").doNothing())
          .execute(),
      );
    },

    async setCaptureState(capture, state) {
      await write(`Cannot note the end of the capture in ${dir}`, () =>
        db.updateTable("capture").set({ state }).where("id", "=", capture).execute(),
      );
    },

    async insertJobRows(rows) {
      await write(`Cannot take the job into ${dir}`, () =>
        db.transaction().execute(async (all) => {
          await all.insertInto("job").values(rows.job).execute();
          for (const row of rows.events) await all.insertInto("job_event").values(row).execute();
          for (const row of rows.captures) await all.insertInto("capture").values(row).execute();
          for (const row of rows.attachments) {
            await all
              .insertInto("attachment")
              .values(row)
              .onConflict((conflict) => conflict.column("sha256").doNothing())
              .execute();
          }
        }),
      );
    },

    backup: (to) => backUpDatabase(copyTo, to),

    async close() {
      await db.destroy();
      lock?.release();
    },
  };
}
