import { join } from "node:path";
import { Readable } from "node:stream";
import { Kysely } from "kysely";
import { BenchError, quoted } from "../../../shared/bench-error.ts";
import { CorrectableEvent, type JobEvent, type StoredEvent } from "../../../shared/record/job.ts";
import { settleCapture } from "../../capture/capture-files.ts";
import { backUpDatabase } from "../database/back-up-database.ts";
import { databasePath, hasJobStore } from "../database/database-path.ts";
import type { JobRows, JobTables } from "../database/job-tables.ts";
import { checkMigrated } from "../database/migration-names.ts";
import { migrate } from "../database/migrations.ts";
import type { RecordDatabase } from "../database/record-database.ts";
import { openSqliteAside } from "../database/sqlite-aside.ts";
import { openSqliteFile } from "../database/sqlite-file.ts";
import { type KeptFile, keepBytes, keepFile } from "./attachment-store.ts";
import { type DataLock, takeDataLock } from "./data-lock.ts";
import { BALLAST_BYTES, dropBallast, keepBallast } from "./disk-space.ts";
import { fileEvents } from "./file-events.ts";
import { jobReader } from "./job-reader.ts";
import type { JobStore } from "./job-store.ts";
import { localSet } from "./local-set.ts";
import { makeFolder } from "./make-folder.ts";
import { makeOwnFile } from "./own-folder.ts";
import { type OwnLog, openOwnLog } from "./own-log.ts";
import { safeName } from "./safe-name.ts";
import { isDiskFull, storageProblem } from "./storage-problem.ts";
import { storedEvent, storedForm } from "./stored-form.ts";
import { uuidV7 } from "./uuid-v7.ts";

export interface OpenJobStoreOptions {
  /** Looks only; works while another process owns the directory. Default false. */
  readOnly?: boolean;
  /** The name of the owner for a second one. Default the program's own command line. */
  command?: string;
  /** Wall clock, Unix milliseconds. */
  nowMs?: () => number;
  /** Room kept to be given up on a full disk; 0 keeps none. Default 16 MiB. */
  ballastBytes?: number;
  /** The database grows to this many pages of 4 KiB and no further. Default: as the disk allows. */
  maxPages?: number;
  /** The place of the record's rows. Default: the file in `dir`. */
  database?: RecordDatabase;
  /** Statements run on a thread of their own, so that a slow disk does not hold up the thread that asks. Default false. */
  aside?: boolean;
  /** Told in a sentence what the record had to do to go on. */
  onTrouble?: (sentence: string) => void;
}

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
    if (!readOnly && options.database === undefined) makeOwnFile(databasePath(dir));
    const openFile = options.aside === true ? openSqliteAside : openSqliteFile;
    const file =
      options.database ??
      (await openFile(databasePath(dir), {
        readOnly,
        ...(options.maxPages === undefined ? {} : { maxPages: options.maxPages }),
      }));
    const db = new Kysely<JobTables>({ dialect: file.dialect });
    store = db;
    if (readOnly) await checkMigrated(db, dir);
    else {
      await migrate(db, file, dir);
      makeFolder(join(dir, "captures"));
      keepBallast(dir, options.ballastBytes ?? BALLAST_BYTES);
    }
    const log = await openOwnLog(db, { database: file, dir, readOnly, nowMs: options.nowMs ?? Date.now });
    if (!readOnly) await endLeftOpen(db, log, join(dir, "captures"));
    return jobStore({ dir, readOnly, db, lock, file, log, options });
  } catch (error) {
    await store?.destroy();
    lock?.release();
    throw storageProblem(error, `Cannot open the job record in ${dir}`);
  }
}

/** Captures that a killed process of this record left open are as long as they will get. */
async function endLeftOpen(db: Kysely<JobTables>, log: OwnLog, captureDir: string): Promise<void> {
  const open = await db
    .selectFrom("capture")
    .leftJoin("capture_end", "capture_end.capture", "capture.id")
    .leftJoin("job_event", "job_event.id", "capture.run")
    .select(["capture.id", "job_event.stamp"])
    .where("capture_end.capture", "is", null)
    .execute();
  for (const { id, stamp } of open) {
    if (stamp !== null && !log.isOwn(stamp)) continue;
    await settleCapture(captureDir, id);
    await db.insertInto("capture_end").values({ capture: id, state: "recovered" }).execute();
  }
}

interface Parts {
  dir: string;
  readOnly: boolean;
  db: Kysely<JobTables>;
  lock: DataLock | null;
  file: RecordDatabase & { copyTo?: (path: string) => Promise<void> };
  log: OwnLog;
  options: OpenJobStoreOptions;
}

function jobStore({ dir, readOnly, db, lock, file, log, options }: Parts): JobStore {
  const nowMs = options.nowMs ?? Date.now;
  const nowIso = () => new Date(nowMs()).toISOString();

  /** Runs a write; on a full disk gives up the ballast and tries once more. */
  const write = async <T>(tried: string, run: () => Promise<T>): Promise<T> => {
    if (readOnly) throw new BenchError("data-not-writable", `${tried}: the record is open for reading only`);
    try {
      return await run();
    } catch (error) {
      if (!isDiskFull(error) || !dropBallast(dir)) throw storageProblem(error, tried);
      options.onTrouble?.(
        `The disk with the record in ${dir} is full. Its reserved space is used now; free some space soon.`,
      );
    }
    try {
      return await run();
    } catch (error) {
      throw storageProblem(error, tried);
    }
  };

  const reader = jobReader(db, file, dir);

  // One write at a time: stamps and numbers rise in the order in which they are on the disk.
  let turn: Promise<unknown> = Promise.resolve();
  const inTurn = <T>(work: () => Promise<T>): Promise<T> => {
    const mine = turn.then(work, work);
    turn = mine.catch(() => undefined);
    return mine;
  };

  const checkCorrection = async (job: string, event: JobEvent) => {
    if (event.kind !== "correction") return;
    const original = await db.selectFrom("job_event").selectAll().where("id", "=", event.of).executeTakeFirst();
    if (original?.job !== job)
      throw new BenchError("bad-input", `The correction names ${event.of}, which is not an event of this job`);
    if (!CorrectableEvent.safeParse(JSON.parse(original.body)).success) {
      throw new BenchError(
        "bad-input",
        `An event of kind "${original.kind}" cannot be corrected, because the bench recorded it`,
      );
    }
    if (original.kind !== event.event.kind) {
      throw new BenchError(
        "bad-input",
        `The correction is a "${event.event.kind}"; it should be a "${original.kind}" like the original`,
      );
    }
  };

  const keptAs: JobStore["attachment"] = async (sha256) =>
    (await db.selectFrom("attachment").selectAll().where("sha256", "=", sha256).executeTakeFirst()) ?? null;

  const checkKept = async (event: JobEvent) => {
    const said = event.kind === "correction" ? event.event : event;
    if (said.kind !== "attachment") return;
    const kept = await keptAs(said.sha256);
    if (kept === null || kept.bytes !== said.bytes || kept.media_type !== said.mediaType) {
      throw new BenchError(
        "bad-input",
        `The attachment ${said.sha256} is not stored in ${dir} as the event says; attach the file first`,
      );
    }
  };

  /** Files a new event as the last one of its job, in a transaction. */
  const insert = async (on: Kysely<JobTables>, job: string, event: JobEvent, id: string): Promise<void> => {
    const row = { id, job, stamp: log.clock.next(), recorded_at: nowIso(), kind: event.kind, body: storedForm(event) };
    await fileEvents(on, file, [row]);
    await log.append(on, [id]);
  };

  const filed = async (job: string, event: JobEvent, id: string): Promise<StoredEvent | null> => {
    const row = await db.selectFrom("job_event").selectAll().where("id", "=", id).executeTakeFirst();
    if (row === undefined) return null;
    if (row.job !== job || row.body !== storedForm(event)) {
      throw new BenchError("bad-input", `The event id ${id} is already used by another event; nothing was filed`);
    }
    return storedEvent(row, await reader.placeOf(row));
  };

  const appendEvent: JobStore["appendEvent"] = async (job, event, { id = uuidV7() } = {}) => {
    await reader.requireJob(job);
    await checkCorrection(job, event);
    await checkKept(event);
    return await inTurn(() =>
      write(`Cannot file the event in ${dir}`, async () => {
        const before = await filed(job, event, id);
        if (before !== null) return before;
        await log.counting(() => db.transaction().execute((all) => insert(all, job, event, id)));
        const stored = await filed(job, event, id);
        if (stored === null) throw new Error(`the event ${id} is missing after it was filed`);
        return stored;
      }),
    );
  };

  const attachKept = async (
    job: string,
    of: { name: string; caption: string | undefined; by?: "phone" },
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
        ...(of.by === undefined ? {} : { by: of.by }),
      });
    });
  };

  return {
    dir,
    readOnly,
    captureDir: join(dir, "captures"),
    set: localSet({ db, database: file, log, write: (tried, run) => inTurn(() => write(tried, run)) }),
    findJob: reader.findJob,
    findCapture: reader.findCapture,
    events: reader.events,
    list: reader.list,
    search: reader.search,
    similar: reader.similar,
    comebacksOf: reader.comebacksOf,
    everPassed: reader.everPassed,
    show: reader.show,
    captures: reader.captures,
    hasJob: reader.hasJob,
    attachment: keptAs,
    jobRows: reader.jobRows,
    appendEvent,

    async newJob({ title, board, comebackOf } = {}) {
      const id = uuidV7();
      const from = comebackOf === undefined ? {} : { comebackOf };
      const event: JobEvent = { kind: "opened", title: title ?? null, board: board ?? null, ...from };
      storedForm(event);
      await inTurn(() =>
        write(`Cannot open a job in ${dir}`, () =>
          log.counting(() =>
            db.transaction().execute(async (all) => {
              await all.insertInto("job").values({ id, created_at: nowIso() }).execute();
              await insert(all, id, event, uuidV7());
            }),
          ),
        ),
      );
      return id;
    },

    async attach(job, path, { caption } = {}) {
      return await attachKept(job, { name: path, caption }, () => keepFile(dir, path));
    },

    async attachBytes(job, bytes, { name, caption }) {
      return await attachKept(job, { name, caption }, () => keepBytes(dir, Readable.from([bytes]), name));
    },

    async attachStream(job, bytes, { name, caption, by }) {
      await reader.requireJob(job);
      // Kept once and for all: a second try would have only the rest of it.
      const kept = await keepBytes(dir, bytes, name);
      return await attachKept(job, { name, caption, by }, async () => kept);
    },

    async addCapture(job, { id, run }) {
      await reader.requireJob(job);
      await write(`Cannot note the capture in ${dir}`, () =>
        db
          .insertInto("capture")
          .values({ id, job, run })
          .onConflict((conflict) => conflict.column("id").doNothing())
          .execute(),
      );
    },

    async endCapture(capture, state) {
      await write(`Cannot note the end of the capture in ${dir}`, () =>
        db
          .insertInto("capture_end")
          .values({ capture, state })
          .onConflict((conflict) => conflict.column("capture").doNothing())
          .execute(),
      );
    },

    async insertJobRows(rows, came) {
      await inTurn(() =>
        write(`Cannot import the job into ${dir}`, () =>
          log.counting(() =>
            db.transaction().execute(async (all) => {
              await all.insertInto("job").values(rows.job).execute();
              for (const { state, ...row } of rows.captures) {
                await all.insertInto("capture").values(row).execute();
                if (state !== "open") await all.insertInto("capture_end").values({ capture: row.id, state }).execute();
              }
              for (const row of rows.attachments) {
                await all
                  .insertInto("attachment")
                  .values(row)
                  .onConflict((conflict) => conflict.column("sha256").doNothing())
                  .execute();
              }
              await refuseKnown(all, rows);
              await fileEvents(all, file, rows.events);
              await log.append(
                all,
                rows.events.map((row) => row.id),
              );
              for (const { stamp } of rows.events) log.clock.see(stamp);
              await insert(all, rows.job.id, came, uuidV7());
            }),
          ),
        ),
      );
    },

    async backup(to) {
      if (file.copyTo === undefined)
        throw new BenchError(
          "bad-input",
          "A database server keeps this record; back it up with the server's own tools",
        );
      await backUpDatabase(file.copyTo, to);
    },

    async close() {
      await turn;
      await db.destroy();
      lock?.release();
    },
  };
}

/** Throws where an event of a job that is taken in is in another job here. */
async function refuseKnown(db: Kysely<JobTables>, { events }: JobRows): Promise<void> {
  for (let from = 0; from < events.length; from += 500) {
    const ids = events.slice(from, from + 500).map((row) => row.id);
    const known = await db.selectFrom("job_event").select("id").where("id", "in", ids).executeTakeFirst();
    if (known !== undefined)
      throw new BenchError("bad-input", `The event ${known.id} belongs to another job here; nothing was written`);
  }
}
