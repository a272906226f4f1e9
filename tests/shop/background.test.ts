import { afterAll, beforeAll, expect, test } from "vitest";
import { exchangeInBackground } from "../../src/shop/background-exchange.ts";
import { type CutProxy, cutProxy } from "./cut-proxy.ts";
import { type PostgresServer, postgresServer } from "./postgres-server.ts";
import { contentOf, testBench } from "./shop-rig.ts";

let server: PostgresServer;
let way: CutProxy;
beforeAll(async () => {
  server = await postgresServer();
  way = await cutProxy(server.port);
});
afterAll(async () => {
  way.close();
  await server.close();
});

const note = (text: string) => ({ kind: "note", text }) as const;
/** Looks until something is so; the test's own time limit ends a wait in vain. */
async function until(isSo: () => Promise<boolean>): Promise<void> {
  while (!(await isSo())) await new Promise((resolve) => setTimeout(resolve, 10));
}

test("what is filed while the database is away is sent by itself when it is back, and how it stands is said", async () => {
  const url = await server.newDatabase();
  const [north, south] = [await testBench("north", url), await testBench("south", url)];
  await south.exchange();
  way.be("reset");
  const troubles: string[] = [];
  const background = exchangeInBackground({
    store: north.store,
    url: url.replace(`:${server.port}/`, `:${way.port}/`),
    onTrouble: (sentence) => troubles.push(sentence),
    everyMs: 20,
    longestMs: 100,
  });
  try {
    const job = await north.store.newJob({ title: "while it is away" });
    await until(async () => (await background.status()).reachable === false);
    await north.store.appendEvent(job, note("one more"));
    const away = await background.status();
    expect(away).toMatchObject({ reachable: false, lastAt: null, waiting: { events: 2 } });
    expect(away.because).not.toBe("");
    way.be("whole");
    await until(async () => (await background.status()).reachable === true);
    expect(await background.status()).toMatchObject({ because: null, waiting: { events: 0, files: 0, since: null } });
    // However often it was tried, it is told once.
    expect(troubles).toEqual([expect.stringMatching(/cannot be used now.*What is filed here waits and is sent later/)]);
    await south.exchange();
    expect(await contentOf(south.store)).toEqual(await contentOf(north.store));
  } finally {
    await background.close();
    await south.close();
    await north.close();
  }
});

test("a database that a network swallows keeps nobody from filing and from the end, and what was filed waits", async () => {
  const url = await server.newDatabase();
  const north = await testBench("north", url);
  way.be("whole");
  const background = exchangeInBackground({
    store: north.store,
    url: url.replace(`:${server.port}/`, `:${way.port}/`),
    onTrouble: () => undefined,
    everyMs: 20,
  });
  const job = await north.store.newJob({ title: "before" });
  await until(async () => (await background.status()).waiting.events === 0);
  way.be("silent");
  await north.store.appendEvent(job, note("swallowed"));
  const began = performance.now();
  await background.close();
  expect(performance.now() - began).toBeLessThan(10_000);
  expect(await north.store.set.waiting()).toMatchObject({ events: 1 });
  way.be("reset");
  await north.close();
});
