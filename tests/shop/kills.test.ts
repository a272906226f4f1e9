import { type ChildProcess, spawn } from "node:child_process";
import { once } from "node:events";
import { connect, createServer } from "node:net";
import { createInterface } from "node:readline";
import { afterAll, beforeAll, expect, test } from "vitest";
import { exchangeOnce } from "../../src/shop/exchange.ts";
import { openShopDatabase } from "../../src/shop/shop-database.ts";
import { type PostgresServer, postgresServer } from "./postgres-server.ts";
import { contentOf, note, numbered, settle, type TestBench, testBench, textsOf } from "./shop-rig.ts";

/** Programs killed between the database's commit and their own knowing of it. In full 1,000. */
const KILLS = Number(process.env["FIRSTAMP_KILLS"] ?? 8);
/** Times that the server is killed at each moment of a commit. */
const SERVER_KILLS = Number(process.env["FIRSTAMP_SERVER_KILLS"] ?? 2);

let server: PostgresServer;

beforeAll(async () => {
  server = await postgresServer();
});
afterAll(() => server.close());

const script = (name: string): string => new URL(name, import.meta.url).pathname;
const start = (name: string, ...args: string[]): ChildProcess =>
  spawn(process.execPath, [script(name), ...args], { stdio: ["ignore", "pipe", "inherit"] });

/** After whatever was killed: both benches have all of it, once, and the database logged it once. */
async function expectAllOnce(north: TestBench, url: string, job: string, filed: number): Promise<void> {
  const south = await testBench("south", url);
  await settle([north, south]);
  expect(await textsOf(south.store, job)).toEqual(numbered(filed));
  expect(await contentOf(south.store)).toEqual(await contentOf(north.store));
  const { rows } = await server.ask(new URL(url).pathname.slice(1), "select count(*) as n from log");
  expect(Number(rows[0].n)).toBe(filed + 1);
  await south.close();
}

test(`${KILLS} programs killed between the database's commit and their own knowing of it lose nothing and double nothing`, {
  timeout: 120_000 + 5000 * KILLS,
}, async () => {
  const url = await server.newDatabase();
  const north = await testBench("north", url);
  const job = await north.store.newJob({ title: "killed after the commit" });
  await north.stop();
  for (let kill = 0; kill < KILLS; kill++) {
    const child = start("./dying-exchange.mjs", north.dir, job, url, String(kill));
    await once(child, "exit");
    expect(child.signalCode).toBe("SIGKILL");
  }
  await north.restart();
  await expectAllOnce(north, url, job, KILLS);
  await north.close();
});

/** Kills the loop as soon as it has said so many lines. */
async function killAfter(child: ChildProcess, lines: number): Promise<void> {
  let said = 0;
  const heard = createInterface({ input: child.stdout as NodeJS.ReadableStream });
  heard.on("line", () => {
    said++;
    if (said === lines) child.kill("SIGKILL");
  });
  await once(heard, "close");
  if (child.exitCode === null && child.signalCode === null) await once(child, "exit");
}

test("a program killed while it files and exchanges, 12 times, and the database killed in between, lose nothing", {
  timeout: 900_000,
}, async () => {
  const url = await server.newDatabase();
  const north = await testBench("north", url);
  const job = await north.store.newJob({ title: "killed" });
  await north.stop();
  for (let kill = 0; kill < 12; kill++) {
    const child = start("./exchange-loop.mjs", north.dir, job, url);
    await killAfter(child, 2 + ((kill * 5) % 7));
    expect(child.signalCode).toBe("SIGKILL");
    if (kill % 4 === 3) {
      await server.stop("kill");
      await server.start();
    }
  }
  await north.restart();
  const south = await testBench("south", url);
  await settle([north, south]);
  const texts = await textsOf(north.store, job);
  expect(texts.length).toBeGreaterThan(12);
  expect(new Set(texts).size).toBe(texts.length);
  expect(await textsOf(south.store, job)).toEqual(texts);
  await north.close();
  await south.close();
});

/** Before the commit reaches the server, as it does, or when the server has done it and nobody was told. */
const MOMENTS = ["before", "during", "after"] as const;
type Moment = (typeof MOMENTS)[number];

/** A way to the server on which the server is killed at a moment of the next commit. */
async function fatalWay(): Promise<{ port: number; killAt(moment: Moment): Promise<void>; close(): void }> {
  let due: Moment | null = null;
  let kill: () => void = () => undefined;
  const way = createServer((near) => {
    const far = connect(server.port, "127.0.0.1");
    let isMute = false;
    near.on("data", (bytes: Buffer) => {
      const moment = due;
      // PostgreSQL's frontend message "Query", with the text that Kysely ends a transaction by.
      if (moment === null || !bytes.includes("commit\0")) {
        far.write(bytes);
        return;
      }
      due = null;
      isMute = true;
      if (moment === "before") kill();
      else far.write(bytes, () => void (moment === "during" && kill()));
    });
    far.on("data", (bytes: Buffer) => {
      if (isMute) kill();
      else near.write(bytes);
    });
    for (const [one, other] of [
      [near, far],
      [far, near],
    ] as const) {
      one.on("error", () => undefined);
      one.on("close", () => other.destroy());
    }
  });
  way.listen(0, "127.0.0.1");
  await once(way, "listening");
  const address = way.address();
  if (address === null || typeof address === "string") throw new Error("no port");
  return {
    port: address.port,
    killAt: (moment) =>
      new Promise((resolve, reject) => {
        due = moment;
        let isKilled = false;
        kill = () => {
          if (isKilled) return;
          isKilled = true;
          server.stop("kill").then(resolve, reject);
        };
      }),
    close: () => void way.close(),
  };
}

test("the database killed before, during and after a commit loses nothing and doubles nothing", {
  timeout: 120_000 + 30_000 * SERVER_KILLS,
}, async () => {
  const url = await server.newDatabase();
  const north = await testBench("north", url);
  await north.exchange();
  const job = await north.store.newJob({ title: "the server dies" });
  const way = await fatalWay();
  const database = openShopDatabase(url.replace(`:${server.port}/`, `:${way.port}/`), { connections: 1 });
  let filed = 0;
  let committed = 0;
  for (let round = 0; round < SERVER_KILLS; round++) {
    for (const moment of MOMENTS) {
      await north.store.appendEvent(job, note(String(filed++)));
      const killed = way.killAt(moment);
      await expect(exchangeOnce({ store: north.store, database })).rejects.toThrow();
      await killed;
      await server.start();
      const { rows } = await server.ask(new URL(url).pathname.slice(1), "select count(*) as n from log");
      const isThere = Number(rows[0].n) === filed + 1;
      if (moment === "before") expect(isThere).toBe(false);
      if (moment === "after") expect(isThere).toBe(true);
      if (isThere) committed++;
    }
  }
  expect(committed).toBeGreaterThanOrEqual(SERVER_KILLS);
  await database.close();
  way.close();
  await expectAllOnce(north, url, job, filed);
  await north.close();
});
