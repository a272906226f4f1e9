/** Runs the statements of one database file, one after the other, on a thread of its own; see sqlite-aside.ts. */
import { parentPort, workerData } from "node:worker_threads";
import { CompiledQuery, type DatabaseConnection, type Driver, type QueryResult } from "kysely";
import { messageOf } from "../../../shared/message-of.ts";
import { openSqliteFile, type SqliteFile, type SqliteFileOptions } from "./sqlite-file.ts";

export type AsideRequest =
  | { kind: "open" }
  | { kind: "query"; sql: string; parameters: readonly unknown[] }
  | { kind: "copy"; to: string }
  | { kind: "close" };

export type AsideAnswer =
  | { kind: "done"; result: QueryResult<unknown> }
  | { kind: "failed"; message: string; code: string | null };

const NOTHING: QueryResult<unknown> = { rows: [] };
const { path, options } = workerData as { path: string; options: SqliteFileOptions };
let open: { file: SqliteFile; driver: Driver; connection: DatabaseConnection } | null = null;

async function answer(request: AsideRequest): Promise<QueryResult<unknown>> {
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

let turn: Promise<void> = Promise.resolve();
parentPort?.on("message", (request: AsideRequest) => {
  turn = turn.then(async () => {
    const said = await answer(request).then(
      (result): AsideAnswer => ({ kind: "done", result }),
      (cause): AsideAnswer => ({ kind: "failed", message: messageOf(cause), code: codeOf(cause) }),
    );
    parentPort?.postMessage(said);
    if (request.kind === "close" || (request.kind === "open" && said.kind === "failed")) parentPort?.close();
  });
});

function codeOf(cause: unknown): string | null {
  return cause instanceof Error && "code" in cause && typeof cause.code === "string" ? cause.code : null;
}
