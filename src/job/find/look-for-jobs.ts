import { Kysely } from "kysely";
import { databasePath, hasJobStore } from "../database/database-path.ts";
import type { JobTables } from "../database/job-tables.ts";
import { checkMigrated } from "../database/migration-names.ts";
import { openSqliteFile } from "../database/sqlite-file.ts";
import { storageProblem } from "../store/storage-problem.ts";
import { type JobLister, jobLister } from "./job-lister.ts";

/**
 * Looks through the list of jobs in `dir`, also while another process owns it; null where there is no record. Throws
 * BenchError "bad-input" as `openJobStore` does.
 */
export async function lookForJobs<T>(dir: string, look: (jobs: JobLister) => Promise<T>): Promise<T | null> {
  if (!hasJobStore(dir)) return null;
  let db: Kysely<JobTables> | undefined;
  try {
    const file = openSqliteFile(databasePath(dir), { readOnly: true });
    db = new Kysely<JobTables>({ dialect: file.dialect });
    await checkMigrated(db, dir);
    return await look(jobLister(db, file));
  } catch (error) {
    throw storageProblem(error, `Cannot open the job record in ${dir}`);
  } finally {
    await db?.destroy();
  }
}
