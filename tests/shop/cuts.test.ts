import { once } from "node:events";
import { connect, createServer, type Server, type Socket } from "node:net";
import { afterAll, beforeAll, expect, test } from "vitest";
import { exchangeOnce } from "../../src/shop/exchange.ts";
import { openShopDatabase, type ShopDatabase } from "../../src/shop/shop-database.ts";
import { type PostgresServer, postgresServer } from "./postgres-server.ts";
import { contentOf, note, numbered, settle, testBench, textsOf } from "./shop-rig.ts";

let server: PostgresServer;

beforeAll(async () => {
  server = await postgresServer();
});
afterAll(() => server.close());

class Killed extends Error {}

/** The database, but the bench is gone at the `fatal`th batch: before the commit, or after it and before it knows. */
function dyingAt(database: ShopDatabase, when: "before" | "after"): ShopDatabase {
  return {
    ...database,
    async takeIn(origin, logged) {
      if (when === "before") throw new Killed();
      await database.takeIn(origin, logged);
      throw new Killed();
    },
  };
}

/** In full 1,000. */
const DEATHS = Number(process.env["FIRSTAMP_KILLS"] ?? 200);

test(`${DEATHS} deaths between the database's commit and the bench's knowing of it lose nothing and double nothing`, {
  timeout: 900_000,
}, async () => {
  const url = await server.newDatabase();
  const north = await testBench("north", url);
  const south = await testBench("south", url);
  const job = await north.store.newJob({ title: "often cut" });
  let filed = 0;
  for (let death = 0; death < DEATHS; death++) {
    if (death % 4 === 0) await north.store.appendEvent(job, note(String(filed++)));
    const database = dyingAt(north.database, death % 5 === 0 ? "before" : "after");
    const died = await exchangeOnce({ store: north.store, database, batch: 1 + (death % 3) }).then(
      () => false,
      (cause: unknown) => cause instanceof Killed,
    );
    // The first exchange after a commit finds all of it there and has nothing to send.
    if (death % 4 === 0) expect(died).toBe(true);
  }
  await settle([north, south]);
  expect(await textsOf(south.store, job)).toEqual(numbered(filed));
  expect(await contentOf(south.store)).toEqual(await contentOf(north.store));
  const { rows } = await server.ask(new URL(url).pathname.slice(1), "select count(*) as n from log");
  expect(Number(rows[0].n)).toBe(filed + 1);
  await north.close();
  await south.close();
});

/** A way to the server that is cut, in both directions at once, after so many bytes. */
async function cuttingProxy(port: number): Promise<{ server: Server; cutAfter(bytes: number): void; port: number }> {
  let left = Number.POSITIVE_INFINITY;
  const pairs = new Set<[Socket, Socket]>();
  const proxy = createServer((near) => {
    const far = connect(port, "127.0.0.1");
    const pair: [Socket, Socket] = [near, far];
    pairs.add(pair);
    const pass = (from: Socket, to: Socket) => {
      from.on("data", (bytes: Buffer) => {
        left -= bytes.length;
        if (left > 0) to.write(bytes);
        else for (const [one, other] of pairs) for (const each of [one, other]) each.destroy();
      });
      from.on("close", () => {
        to.destroy();
        pairs.delete(pair);
      });
      from.on("error", () => undefined);
    };
    pass(near, far);
    pass(far, near);
  });
  proxy.listen(0, "127.0.0.1");
  await once(proxy, "listening");
  const address = proxy.address();
  if (address === null || typeof address === "string") throw new Error("no port");
  return {
    server: proxy,
    port: address.port,
    cutAfter: (bytes) => {
      left = bytes;
    },
  };
}

test("a connection cut anywhere in a batch, 100 times, loses nothing and doubles nothing", {
  timeout: 900_000,
}, async () => {
  const url = await server.newDatabase();
  const proxy = await cuttingProxy(server.port);
  const north = await testBench("north", url);
  const south = await testBench("south", url);
  await settle([north, south]);
  const cutUrl = url.replace(`:${server.port}/`, `:${proxy.port}/`);
  const job = await north.store.newJob({ title: "cut in mid-batch" });
  let filed = 0;
  let cuts = 0;
  for (let round = 0; round < 100; round++) {
    for (let index = 0; index < 3; index++) await north.store.appendEvent(job, note(String(filed++)));
    const database = openShopDatabase(cutUrl, { connections: 1, connectMs: 30_000 });
    proxy.cutAfter(1500 + ((round * 977) % 9000));
    await exchangeOnce({ store: north.store, database, batch: 5 }).catch(() => cuts++);
    await database.close();
  }
  expect(cuts).toBeGreaterThan(50);
  proxy.server.close();
  await settle([north, south]);
  expect(await textsOf(south.store, job)).toEqual(numbered(filed));
  expect(await contentOf(south.store)).toEqual(await contentOf(north.store));
  await north.close();
  await south.close();
});
