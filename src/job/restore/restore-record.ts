import { randomUUID } from "node:crypto";
import { existsSync, statSync } from "node:fs";
import { copyFile, mkdir, open, realpath, rename, rm, rmdir } from "node:fs/promises";
import { basename, join } from "node:path";
import { Kysely } from "kysely";
import { BenchError, quoted } from "../../../shared/bench-error.ts";
import { JobEvent } from "../../../shared/record/job.ts";
import { messageOf } from "../../../shared/words/message-of.ts";
import { databasePath } from "../database/database-path.ts";
import type { JobTables } from "../database/job-tables.ts";
import { migrate } from "../database/migrations.ts";
import { openSqliteFile, sqliteFileProblems } from "../database/sqlite-file.ts";
import { attachmentPath, syncFolder } from "../store/attachment-store.ts";
import { takeDataLock } from "../store/data-lock.ts";
import { localSet } from "../store/local-set.ts";
import { openOwnLog } from "../store/own-log.ts";
import { takeInEvents } from "../store/record-set.ts";
import { storageProblem } from "../store/storage-problem.ts";
import { restoreFiles } from "./restore-files.ts";
import { type Salvaged, salvageEvents } from "./salvage-events.ts";

export interface Restored {
  /** Events of the copy that was put back. */
  fromCopy: number;
  /** Events that only the damaged record had, and that could be read. */
  salvaged: number;
  /** Rows that the damaged record names and that could not be read. */
  lost: number;
  /** Captures and attachments that were put back. */
  files: string[];
  /** The new place of what was there before. */
  aside: string;
  /** Sentences about what could not be taken over. */
  troubles: string[];
}

/** The files that SQLite keeps beside a database. */
const BESIDE = ["-wal", "-shm"];
const AT_ONCE = 500;

/**
 * Puts a copy made by `job backup` in the place of the record in `dir`, with everything that can still be read of what is there; what
 * was there is kept aside. The copy is a database file, or a folder with its captures and attachments too. Until the last step the
 * record stays as it is. The record goes on under a new origin, so that a shop notices nothing but more events. Throws BenchError
 * "data-in-use", "disk-full", "data-not-writable", or "bad-input" for a copy that is no sound record or of a newer program.
 */
export async function restoreRecord(dir: string, copy: string, nowMs: () => number = Date.now): Promise<Restored> {
  const source = await soundCopy(dir, copy);
  const lock = takeDataLock(dir, "firstamp job restore");
  const work = join(dir, `restoring-${randomUUID()}`);
  const at = new Date(nowMs()).toISOString().slice(0, 19).replaceAll(/[-:]/g, "");
  const aside = join(dir, `put-aside-${at}-${randomUUID().slice(0, 4)}`);
  try {
    await mkdir(work, { mode: 0o700 });
    await mkdir(aside, { mode: 0o700 });
    const files = source.folder === null ? [] : await restoreFiles(dir, source.folder, aside);
    const made = join(work, "firstamp.db");
    await copyDatabase(source.database, made);
    const salvaged = await salvageOf(dir, work);
    const taken = await takeOver(made, salvaged, dir, nowMs);
    await swap(dir, made, aside);
    return { ...taken, lost: salvaged.lost, files, aside };
  } catch (cause) {
    throw storageProblem(cause, `Cannot restore ${quoted(copy)} into ${dir}`);
  } finally {
    await rm(work, { recursive: true, force: true });
    // Empty where nothing was moved.
    await rmdir(aside).catch(() => undefined);
    lock.release();
  }
}

async function soundCopy(dir: string, copy: string): Promise<{ database: string; folder: string | null }> {
  const refuse = (why: string): never => {
    throw new BenchError("bad-input", `Cannot restore ${quoted(copy)}: ${why}; nothing was changed`);
  };
  if (!existsSync(copy)) refuse("the file or folder does not exist");
  const folder = statSync(copy).isDirectory() ? copy : null;
  const database = folder === null ? copy : databasePath(folder);
  if (!existsSync(database)) refuse("the folder holds no firstamp.db");
  if (existsSync(databasePath(dir)) && (await realpath(database)) === (await realpath(databasePath(dir))))
    refuse("it is the present record");
  const problems = problemsOf(database);
  if (problems.length > 0) refuse(`the copy is damaged: ${problems[0]}`);
  return { database, folder };
}

/** A file that SQLite cannot even begin to check is damaged as well. */
function problemsOf(database: string): string[] {
  try {
    return sqliteFileProblems(database);
  } catch (cause) {
    return [messageOf(cause)];
  }
}

async function copyDatabase(from: string, to: string): Promise<void> {
  await copyFile(from, to);
  // A copy that somebody made by hand of a record in use may have its latest commits there.
  if (existsSync(`${from}-wal`)) await copyFile(`${from}-wal`, `${to}-wal`);
}

async function salvageOf(dir: string, work: string): Promise<Salvaged> {
  if (!existsSync(databasePath(dir))) return { events: [], captureEnds: [], attachments: [], lost: 0 };
  const old = join(work, "old.db");
  await copyDatabase(databasePath(dir), old);
  return await salvageEvents(old);
}

/** Files what was salvaged in the database that was made, under a new origin; its file is whole on the disk afterwards. */
async function takeOver(
  made: string,
  { events, captureEnds, attachments }: Salvaged,
  dir: string,
  nowMs: () => number,
): Promise<Pick<Restored, "fromCopy" | "salvaged" | "troubles">> {
  const file = openSqliteFile(made);
  const db = new Kysely<JobTables>({ dialect: file.dialect });
  try {
    await migrate(db, file, made);
    const { n } = await db
      .selectFrom("job_event")
      .select((each) => each.fn.countAll<number>().as("n"))
      .executeTakeFirstOrThrow();
    const sound = events.filter(({ event }) => isJson(event.body));
    let salvaged = 0;
    const troubles: string[] = [];
    for (let from = 0; from < sound.length; from += AT_ONCE) {
      const part = sound.slice(from, from + AT_ONCE);
      const taken = await db.transaction().execute((all) => takeInEvents(all, file, "the damaged record", part));
      salvaged += taken.events.length;
      troubles.push(...taken.troubles);
    }
    for (const row of captureEnds)
      await db
        .insertInto("capture_end")
        .values(row)
        .onConflict((conflict) => conflict.column("capture").doNothing())
        .execute();
    for (const row of [...attachments, ...sound.flatMap(({ event }) => attachmentIn(event.body))].filter(({ sha256 }) =>
      existsSync(attachmentPath(dir, sha256)),
    ))
      await db
        .insertInto("attachment")
        .values(row)
        .onConflict((conflict) => conflict.column("sha256").doNothing())
        .execute();
    const log = await openOwnLog(db, { database: file, dir, readOnly: false, nowMs });
    const set = localSet({ db, database: file, log, write: (_, run) => run() });
    for (const origin of await set.ownOrigins()) if (origin !== log.origin) await set.setKnown(origin, -1);
    await set.leaveOrigin(log.origin);
    return { fromCopy: Number(n), salvaged, troubles };
  } finally {
    await db.destroy();
  }
}

function isJson(text: string): boolean {
  try {
    JSON.parse(text);
    return true;
  } catch {
    return false;
  }
}

/** The row of the attachment that an event names; its own may be among what was lost. */
function attachmentIn(body: string): JobTables["attachment"][] {
  const event = JobEvent.safeParse(JSON.parse(body)).data;
  const said = event?.kind === "correction" ? event.event : event;
  return said?.kind === "attachment" ? [{ sha256: said.sha256, bytes: said.bytes, media_type: said.mediaType }] : [];
}

/** Puts the new database in the place of the old one, which is copied aside before anything of it is touched. */
async function swap(dir: string, made: string, aside: string): Promise<void> {
  const target = databasePath(dir);
  for (const beside of ["", ...BESIDE]) {
    const path = `${target}${beside}`;
    if (existsSync(path)) await copyFile(path, join(aside, basename(path)));
  }
  await syncFolder(aside);
  const file = await open(made, "r+");
  await file.chmod(0o600);
  await file.sync();
  await file.close();
  // A log of the old database must not be taken for one of the new.
  for (const beside of BESIDE) await rm(`${target}${beside}`, { force: true });
  await rename(made, target);
  await syncFolder(dir);
}
