/**
 * A shop's database: how long 100,000 jobs take to list, search and open, and how many events a second a bench sends and another takes
 * in, on a PostgreSQL of its own on the loopback.
 */
import { mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { Kysely } from "kysely";
import pg from "pg";
import { fill, fillSet } from "../../tools/fill-record.mjs";
import { built, done, p95, row, SHARE } from "./measure.mjs";
import { ownPostgres } from "./own-postgres.mjs";
import { SEARCHES } from "./searches.mjs";

const JOBS = Math.trunc(100_000 * SHARE);
const SENT_JOBS = Math.max(500, Math.trunc(4000 * SHARE));
const ORIGIN = "north~00000001";

const [{ openPostgres }, { jobReader }, { recordSet }, { StampClock }, { openJobStore }, shop, exchange] =
  await Promise.all([
    built("job/database/postgres-file.js"),
    built("job/store/job-reader.js"),
    built("job/store/record-set.js"),
    built("job/store/stamp.js"),
    built("job/store/open-job-store.js"),
    built("shop/shop-database.js"),
    built("shop/exchange.js"),
  ]);

const server = await ownPostgres();
const folder = await mkdtemp(join(tmpdir(), "firstamp-speed-"));
try {
  await exchanged();
  await listed();
} finally {
  await server.close();
  await rm(folder, { recursive: true, force: true });
}
done();

/** Events a second from a record that was filled to the server, and from there to an empty record. */
async function exchanged() {
  const north = join(folder, "north");
  await fill({ jobs: SENT_JOBS, data: north });
  const database = shop.openShopDatabase(server.url);
  await database.prepare();
  // As `shop sync` does.
  const batch = exchange.LARGE_BATCH;
  const passed = async (dir, count) => {
    const store = await openJobStore(dir, { ballastBytes: 0, aside: true });
    const done = { ms: 0, cpuMs: 0, events: 0, rows: [] };
    // Events alone: how fast the bytes of readings go is the disk's matter.
    const only = { ...store, set: { ...store.set, unsent: async () => [], missing: async () => [] } };
    Object.defineProperty(only.set, "origin", { get: () => store.set.origin });
    const [began, used] = [performance.now(), process.cpuUsage()];
    const { sent, received } = await exchange.exchangeOnce({ store: only, database, batch });
    done.ms = performance.now() - began;
    done.events = sent + received;
    const { user, system } = process.cpuUsage(used);
    done.cpuMs = (user + system) / 1000;
    if (count) done.rows = await store.set.after(store.set.origin, 0, 100_000);
    await store.close();
    return done;
  };
  const sent = await passed(north, true);
  const received = await passed(join(folder, "south"), false);
  const bare = await bareInsert(sent.rows, batch);
  for (const [what, { ms, cpuMs, events }] of [
    ["sending", sent],
    ["taking in", received],
  ])
    row({
      what: `${what} ${events} events of a shop`,
      measured: (1000 * events) / ms,
      unit: "events/s",
      baseline: bare,
      baselineUnit: "rows/s",
      baselineIs: `the same texts inserted into a bare table, ${batch} at a time`,
      aim: { least: 10_000 },
      note: `processor here ${((1000 * cpuMs) / events).toFixed(0)} µs an event`,
    });
  await database.close();
}

/** The texts alone into a table without an index but its key: what the server does at best. */
async function bareInsert(rows, batch) {
  const client = new pg.Client({ connectionString: server.url });
  await client.connect();
  await client.query("create table bare (id text primary key, body text not null)");
  const began = performance.now();
  for (let from = 0; from < rows.length; from += batch) {
    const part = rows.slice(from, from + batch);
    await client.query(
      "insert into bare select * from rows from (json_array_elements_text($1), json_array_elements_text($2)) as each",
      [part.map(({ event }) => event.id), part.map(({ event }) => event.body)].map((list) => JSON.stringify(list)),
    );
  }
  const perSecond = (1000 * rows.length) / (performance.now() - began);
  await client.query("drop table bare");
  await client.end();
  return perSecond;
}

async function listed() {
  const database = openPostgres(server.url, { statementMs: 600_000 });
  const db = new Kysely({ dialect: database.dialect });
  await fillSet({
    jobs: JOBS,
    origin: ORIGIN,
    set: recordSet(db, database),
    db,
    clock: new StampClock(ORIGIN, () => 0),
  });
  const client = new pg.Client({ connectionString: server.url });
  await client.connect();
  await client.query("vacuum analyze");
  const reader = jobReader(db, database, "the shop's database");
  const { rows: ids } = await client.query("select id from job order by id desc limit 500");
  const runs = (await client.query("select run from draw limit 60")).rows.map(({ run }) => run);
  const bare = await p95(() => client.query("select 1"));
  const total = Number((await client.query("select count(*) as n from job")).rows[0].n);
  await client.end();
  const measured = async (what, work) => {
    await work(0);
    const { ms, cpuMs } = await p95(work);
    row({
      what: `${what}, ${total} jobs of a shop, p95`,
      measured: ms,
      unit: "ms",
      baseline: bare.ms,
      baselineIs: "`select 1`",
      aim: { most: 100 },
      note: `processor here ${cpuMs.toFixed(1)}`,
    });
  };
  await measured("list of 50", () => reader.search({ most: 50 }));
  const middle = new Date(Date.now() - (JOBS / 2) * 3_600_000).toISOString();
  const searches = SEARCHES(middle);
  await measured("search, eight kinds in turn", (index) =>
    reader.search({ ...searches[index % searches.length], most: 50 }),
  );
  await measured("ten similar draws", (index) => reader.similar(runs[index % runs.length], 10));
  await measured("opening a job", (index) => reader.show(ids[index % ids.length].id));
  await db.destroy();
}
