import { execFile } from "node:child_process";
import { randomBytes } from "node:crypto";
import { chmodSync, chownSync, copyFileSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import path from "node:path";
import { promisify } from "node:util";
import { afterEach, expect, test } from "vitest";
import { exchangeOnce } from "../../src/shop/exchange.ts";
import { openShopDatabase } from "../../src/shop/shop-database.ts";
import { whyAway } from "../../src/shop/shop-trouble.ts";
import { certificate } from "./certificate.ts";
import { otherUser, type PostgresServer, postgresServer } from "./postgres-server.ts";
import { contentOf, settle, type TestBench, testBench } from "./shop-rig.ts";

const run = promisify(execFile);
const cleanUp: (() => Promise<unknown> | unknown)[] = [];
afterEach(async () => {
  for (const each of cleanUp.splice(0).reverse()) await each();
});

/** What an exchange said that could not come to its end. */
const troubleOf = (bench: TestBench): Promise<string> => bench.exchange().then(() => "none", whyAway);

/** A file system of its own that holds so little; null where this system lets nobody mount one. */
async function smallDisk(bytes: number): Promise<string | null> {
  const folder = mkdtempSync(path.join(tmpdir(), "firstamp-small-"));
  const mounted = await run("mount", ["-t", "tmpfs", "-o", `size=${bytes},mode=777`, "tmpfs", folder]).then(
    () => true,
    () => false,
  );
  cleanUp.push(async () => {
    if (mounted) await run("umount", ["-l", folder]);
    rmSync(folder, { recursive: true, force: true });
  });
  return mounted ? folder : null;
}

const refusing = `create function no_room() returns trigger language plpgsql as $$
  begin raise exception 'could not extend file: No space left on device' using errcode = 'disk_full'; end $$;
  create trigger no_room before insert on job_event for each statement execute function no_room();`;

/** Fills the server's disk; where none of its own can be mounted, the server says what it says then. Answers the way to make room. */
async function fillDisk(server: PostgresServer, disk: string | null, database: string): Promise<() => Promise<void>> {
  if (disk === null) {
    await server.ask(database, refusing);
    return async () => void (await server.ask(database, "drop trigger no_room on job_event"));
  }
  const filler = path.join(disk, "filler");
  await run("dd", ["if=/dev/zero", `of=${filler}`, "bs=64K"]).catch(() => undefined);
  return async () => {
    rmSync(filler);
    // A server that could not write its log any more has ended all its sessions and begun anew, or has gone.
    await server.stop("kill");
    await server.start();
  };
}

test("a server whose disk is full is said to be so; what was filed waits, and is there once there is room", {
  timeout: 300_000,
}, async () => {
  const disk = await smallDisk(160 * 1024 * 1024);
  const server = await postgresServer(["wal_recycle = off", "min_wal_size = 32MB"], disk ?? undefined);
  cleanUp.push(() => server.close());
  const url = await server.newDatabase();
  const north = await testBench("north", url);
  const south = await testBench("south", url);
  cleanUp.push(
    () => north.close(),
    () => south.close(),
  );
  await settle([north, south]);
  const job = await north.store.newJob({ title: "before it was full" });
  await north.exchange();
  const makeRoom = await fillDisk(server, disk, new URL(url).pathname.slice(1));
  let said = "none";
  // The server uses up what it set aside first.
  for (let each = 0; each < 400 && said === "none"; each++) {
    await north.store.attachBytes(job, randomBytes(1024 * 1024), { name: `${each}.bin` });
    said = await troubleOf(north);
  }
  // A server that cannot write its log at all ends the session in the middle of it.
  expect(said).toMatch(/its disk is full|terminat|shutting down|no answer|ECONNRESET|recovery|No space left/i);
  const waiting = await north.store.set.waiting();
  expect(waiting.events + waiting.files).toBeGreaterThan(0);
  await makeRoom();
  await settle([north, south]);
  expect(await north.store.set.waiting()).toMatchObject({ events: 0, files: 0 });
  expect(await contentOf(south.store)).toEqual(await contentOf(north.store));
});

test("a server with an expired certificate is sent nothing, and with a new one gets all that waited", {
  timeout: 300_000,
}, async () => {
  const folder = mkdtempSync(path.join(tmpdir(), "firstamp-tls-"));
  chmodSync(folder, 0o755);
  cleanUp.push(() => rmSync(folder, { recursive: true, force: true }));
  const shown = { certificate: path.join(folder, "shown.pem"), key: path.join(folder, "shown.key") };
  const user = await otherUser("postgres");
  const show = (made: { certificate: string; key: string }): void => {
    for (const which of ["certificate", "key"] as const) {
      copyFileSync(made[which], shown[which]);
      chmodSync(shown[which], 0o600);
      if (user !== null) chownSync(shown[which], user.uid, user.gid);
    }
  };
  const expired = await certificate(folder, -1);
  copyFileSync(expired.ca, path.join(folder, "old-ca.pem"));
  show(expired);
  const server = await postgresServer([
    "ssl = on",
    `ssl_cert_file = '${shown.certificate}'`,
    `ssl_key_file = '${shown.key}'`,
  ]);
  cleanUp.push(() => server.close());
  const url = await server.newDatabase();
  const by = (ca: string) => `${url}?sslmode=verify-full&sslrootcert=${ca}`;
  const north = await testBench("north", by(path.join(folder, "old-ca.pem")));
  cleanUp.push(() => north.close());
  await north.store.newJob({ title: "waits for a certificate" });
  expect(await troubleOf(north)).toBe("its certificate has expired");
  expect((await north.store.set.waiting()).events).toBe(1);
  const tables = await server.ask(new URL(url).pathname.slice(1), "select count(*) as n from pg_stat_user_tables");
  expect(Number(tables.rows[0].n)).toBe(0);

  const good = await certificate(folder, 30);
  show(good);
  await server.stop();
  await server.start();
  // A bench that trusts another authority sends nothing either.
  expect(await troubleOf(north)).toMatch(/trusts nobody who signed|certificate/);
  expect((await north.store.set.waiting()).events).toBe(1);
  const database = openShopDatabase(by(good.ca));
  cleanUp.push(() => database.close());
  await exchangeOnce({ store: north.store, database });
  expect((await north.store.set.waiting()).events).toBe(0);
});
