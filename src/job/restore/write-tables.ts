import { createWriteStream, existsSync } from "node:fs";
import { mkdir, rename, rm } from "node:fs/promises";
import { join } from "node:path";
import { pipeline } from "node:stream/promises";
import { Kysely } from "kysely";
import { BenchError, quoted } from "../../../shared/bench-error.ts";
import { databasePath, hasJobStore } from "../database/database-path.ts";
import type { JobTables } from "../database/job-tables.ts";
import { checkMigrated } from "../database/migration-names.ts";
import { openSqliteFile } from "../database/sqlite-file.ts";
import { TABLE_COLUMNS } from "../database/table-columns.ts";
import { csvCell } from "../report/csv-cell.ts";
import { storageProblem } from "../store/storage-problem.ts";

/**
 * Writes every table of the record in `dir` into a new folder, one CSV file each (RFC 4180, every cell quoted, no cell a formula; an
 * empty cell is nothing). Works while another process writes. Throws BenchError "bad-input" where there is no record or something is
 * at `out`, "disk-full", or "data-not-writable"; nothing is left behind then.
 */
export async function writeTables(dir: string, out: string): Promise<{ table: string; rows: number }[]> {
  if (!hasJobStore(dir)) throw new BenchError("bad-input", `There is no job record in ${dir}`);
  if (existsSync(out))
    throw new BenchError("bad-input", `Cannot write to ${quoted(out)}: it exists already; give another name`);
  const making = `${out}.making-${process.pid}`;
  const written: { table: string; rows: number }[] = [];
  let db: Kysely<JobTables> | undefined;
  try {
    db = new Kysely<JobTables>({ dialect: openSqliteFile(databasePath(dir), { readOnly: true }).dialect });
    await checkMigrated(db, dir);
    await mkdir(making);
    // One view of the record for all tables.
    await db.transaction().execute(async (all) => {
      for (const [table, columns] of Object.entries(TABLE_COLUMNS)) {
        const count = { rows: 0 };
        const rows = rowsOf(all, table as keyof typeof TABLE_COLUMNS, columns, count);
        await pipeline(rows, createWriteStream(join(making, `${table}.csv`), { flags: "wx" }));
        written.push({ table, rows: count.rows });
      }
    });
    await rename(making, out);
    return written;
  } catch (cause) {
    throw storageProblem(cause, `Cannot write the tables to ${quoted(out)}`);
  } finally {
    await db?.destroy();
    await rm(making, { recursive: true, force: true });
  }
}

async function* rowsOf(
  db: Kysely<JobTables>,
  table: keyof typeof TABLE_COLUMNS,
  columns: readonly string[],
  count: { rows: number },
): AsyncGenerator<string> {
  yield `${columns.map(csvCell).join(",")}\r\n`;
  for await (const row of db.selectFrom(table).selectAll().stream()) {
    count.rows++;
    const cells = columns.map((column) => (row as Record<string, string | number | null>)[column] ?? "");
    yield `${cells.map(csvCell).join(",")}\r\n`;
  }
}
