import { afterAll, beforeAll, expect, test } from "vitest";
import { openPostgres } from "../../src/job/database/postgres-file.ts";
import { type PostgresServer, postgresServer } from "../shop/postgres-server.ts";
import { findingSuite } from "./finding-suite.ts";
import { recordSuite } from "./record-suite.ts";
import { fileRun, sampleHeader, type WithStore, withStore } from "./sample-job.ts";

let server: PostgresServer;

beforeAll(async () => {
  server = await postgresServer(["fsync = off"]);
});

afterAll(() => server.close());

const onPostgres: WithStore = async (work, options = {}) =>
  await withStore(work, { ...options, database: openPostgres(await server.newDatabase()) });

recordSuite("PostgreSQL", onPostgres);
findingSuite("PostgreSQL", onPostgres);

test("no role can change, delete or empty what was filed in PostgreSQL", async () => {
  const url = await server.newDatabase();
  const database = new URL(url).pathname.slice(1);
  await withStore(
    async (store) => {
      const job = await store.newJob({ title: "as it was" });
      await fileRun(store, job, { header: sampleHeader() });
      for (const table of ["job", "job_event", "log", "capture", "capture_end", "job_fact", "draw"]) {
        for (const change of [`delete from ${table}`, `truncate ${table} cascade`])
          await expect(server.ask(database, change), change).rejects.toThrow(/append-only/);
      }
      await expect(server.ask(database, "update job_event set body = '{}'")).rejects.toThrow(/append-only/);
    },
    { database: openPostgres(url) },
  );
});
