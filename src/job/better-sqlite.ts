import { createRequire } from "node:module";
import type Sqlite from "better-sqlite3";

export type Database = Sqlite.Database;

const require = createRequire(import.meta.url);

/**
 * The database package whose machine code this Node can run. Version 12 uses a part of Node that aborts the process at a
 * garbage collection from 24.19 on; version 13 uses the stable interface, in its tenth revision, which Node 20 lacks.
 */
export const BetterSqlite: typeof Sqlite =
  Number(process.versions["napi"]) >= 10 ? require("better-sqlite3-napi") : require("better-sqlite3");
