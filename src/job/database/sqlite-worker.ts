/** Runs the statements of one database file, one after the other, on a thread of its own; see sqlite-aside.ts. */
import { parentPort, workerData } from "node:worker_threads";
import { CompiledQuery, type DatabaseConnection, type Driver, type QueryResult } from "kysely";
import { answerAsked } from "../../system/answer-asked.ts";
import { openSqliteFile, type SqliteFile, type SqliteFileOptions } from "./sqlite-file.ts";

export type FileRequest =
  | { kind: "open" }
  | { kind: "query"; sql: string; parameters: readonly unknown[] }
  | { kind: "copy"; to: string }
  | { kind: "close" };

const NOTHING: QueryResult<unknown> = { rows: [] };
const { path, options } = workerData as { path: string; options: SqliteFileOptions };
let open: { file: SqliteFile; driver: Driver; connection: DatabaseConnection } | null = null;

async function answer(request: FileRequest): Promise<QueryResult<unknown>> {
  if (request.kind === "open") {
    const file = openSqliteFile(path, options);
    const driver = file.dialect.createDriver();
    await driver.init();
    open = { file, driver, connection: await driver.acquireConnection() };
    return NOTHING;
  }
  if (open === null) throw new Error("the record is not open");
  if (request.kind === "query")
    return await open.connection.executeQuery(CompiledQuery.raw(request.sql, [...request.parameters]));
  if (request.kind === "copy") await open.file.copyTo(request.to);
  else await open.driver.destroy();
  return NOTHING;
}

let turn: Promise<unknown> = Promise.resolve();
answerAsked((request: FileRequest) => {
  const mine = turn.then(() => answer(request));
  turn = mine.then(
    () => (request.kind === "close" ? leave() : undefined),
    () => (open === null ? leave() : undefined),
  );
  return mine;
});

/** Ends the thread, once what was said is on its way. */
function leave(): void {
  setImmediate(() => parentPort?.close());
}
