import { Worker } from "node:worker_threads";
import {
  CompiledQuery,
  type DatabaseConnection,
  type Dialect,
  type Driver,
  type QueryResult,
  SqliteAdapter,
  SqliteIntrospector,
  SqliteQueryCompiler,
} from "kysely";
import { inProgram } from "../../system/in-program.ts";
import { rowWithBuffers } from "./row-with-buffers.ts";
import { openSqliteFile, type SqliteFile, type SqliteFileOptions, sqliteWays } from "./sqlite-file.ts";
import type { AsideAnswer, AsideRequest } from "./sqlite-worker.ts";

const WORKER = inProgram("job/store/sqlite-worker.js");

/** A database file whose statements run on a thread of their own. */
export type SqliteAside = Omit<SqliteFile, "close">;

/**
 * Opens a database file as `openSqliteFile` does, on a thread of its own. A commit waits for the disk, and for another
 * program that has the file locked; the thread that asks goes on meanwhile, as one must that beats to a bench process.
 * Without a thread the file is opened on this one. Throws what `openSqliteFile` throws.
 */
export async function openSqliteAside(
  path: string,
  options: SqliteFileOptions = {},
  worker = WORKER,
): Promise<SqliteAside> {
  const aside = new Aside(worker, { path, options });
  try {
    await aside.ask({ kind: "open" });
  } catch (cause) {
    if (!aside.isGone) throw cause;
    return openSqliteFile(path, options);
  }
  const dialect: Dialect = {
    createDriver: () => new AsideDriver(aside),
    createQueryCompiler: () => new SqliteQueryCompiler(),
    createAdapter: () => new SqliteAdapter(),
    createIntrospector: (db) => new SqliteIntrospector(db),
  };
  return { ...sqliteWays, dialect, copyTo: async (to) => void (await aside.ask({ kind: "copy", to })) };
}

interface Waiting {
  resolve(result: QueryResult<unknown>): void;
  reject(cause: unknown): void;
}

const NOTHING: QueryResult<unknown> = { rows: [] };

/** The thread, asked one thing after the other; its answers come in that order. */
class Aside {
  readonly #worker: Worker;
  readonly #waiting: Waiting[] = [];
  #gone: Error | null = null;

  constructor(worker: string, workerData: { path: string; options: SqliteFileOptions }) {
    this.#worker = new Worker(worker, { workerData, execArgv: [] });
    // An open record keeps no process alive; an answer that is waited for does.
    this.#worker.unref();
    this.#worker.on("message", (answer: AsideAnswer) => this.#take(answer));
    this.#worker.on("error", (cause) => this.#lose(cause));
    this.#worker.on("exit", () => this.#lose(new Error("the thread of the record has ended")));
  }

  /** The thread ended by itself, or never was. */
  get isGone(): boolean {
    return this.#gone !== null;
  }

  ask(request: AsideRequest): Promise<QueryResult<unknown>> {
    if (this.#gone !== null) return Promise.reject(this.#gone);
    return new Promise((resolve, reject) => {
      this.#waiting.push({ resolve, reject });
      this.#worker.ref();
      this.#worker.postMessage(request);
    });
  }

  #take(answer: AsideAnswer): void {
    const waiting = this.#waiting.shift();
    if (this.#waiting.length === 0) this.#worker.unref();
    if (answer.kind === "failed") waiting?.reject(failure(answer));
    else waiting?.resolve({ ...answer.result, rows: answer.result.rows.map(rowWithBuffers) });
  }

  #lose(cause: Error): void {
    this.#gone ??= cause;
    for (const waiting of this.#waiting.splice(0)) waiting.reject(this.#gone);
  }
}

/** The error of the other thread, with SQLite's name of it: a copy between threads keeps neither its code nor its class. */
function failure({ message, code }: Extract<AsideAnswer, { kind: "failed" }>): Error {
  return Object.assign(new Error(message), code === null ? {} : { code });
}

/** Kysely's driver of the thread: one connection, lent to one query or transaction at a time. */
class AsideDriver implements Driver {
  readonly #aside: Aside;
  #free: Promise<void> = Promise.resolve();
  #giveBack: () => void = () => {};
  readonly #connection: DatabaseConnection;

  constructor(aside: Aside) {
    this.#aside = aside;
    this.#connection = {
      executeQuery: async <R>({ sql, parameters }: CompiledQuery) =>
        (await aside.ask({ kind: "query", sql, parameters })) as QueryResult<R>,
      // biome-ignore lint/correctness/useYield: the interface asks for a generator; this one only refuses.
      streamQuery: async function* () {
        throw new Error("a record on a thread of its own answers whole results only");
      },
    };
  }

  async init(): Promise<void> {}

  async acquireConnection(): Promise<DatabaseConnection> {
    const before = this.#free;
    let giveBack = () => {};
    this.#free = new Promise((resolve) => {
      giveBack = resolve;
    });
    await before;
    this.#giveBack = giveBack;
    return this.#connection;
  }

  async releaseConnection(): Promise<void> {
    this.#giveBack();
  }

  async beginTransaction(): Promise<void> {
    await this.#connection.executeQuery(CompiledQuery.raw("begin"));
  }

  async commitTransaction(): Promise<void> {
    await this.#connection.executeQuery(CompiledQuery.raw("commit"));
  }

  async rollbackTransaction(): Promise<void> {
    await this.#connection.executeQuery(CompiledQuery.raw("rollback"));
  }

  async destroy(): Promise<void> {
    await this.#aside.ask({ kind: "close" }).catch(() => NOTHING);
  }
}
