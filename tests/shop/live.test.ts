import { once } from "node:events";
import { connect, createServer } from "node:net";
import mqtt from "mqtt";
import { afterAll, afterEach, beforeAll, expect, test } from "vitest";
import type { WireDown } from "../../shared/wire.ts";
import { publishLive } from "../../src/shop/live-publisher.ts";
import { type LiveWatcher, watchLive } from "../../src/shop/live-watcher.ts";
import { type Broker, mosquittoBroker } from "./mosquitto-broker.ts";

let broker: Broker;
const closing: { close(): Promise<void> }[] = [];

beforeAll(async () => {
  broker = await mosquittoBroker();
});
afterEach(async () => {
  for (const each of closing.splice(0)) await each.close();
});
afterAll(() => broker.close());

let shops = 0;
/** A shop of its own for each test, since a broker keeps what it was told to. */
const newShop = () => ({ shop: `shop-${++shops}`, live: broker.url });

const frame = (output: "on" | "off", amps: number): WireDown => ({
  type: "frame",
  gap: false,
  feeds: [
    {
      feed: "aux",
      output,
      ageMs: 5,
      readings: [
        { atMs: 10, volts: { kind: "value", volts: 12 }, amps: { kind: "value", amps }, watts: 12 * amps, mode: "cv" },
      ],
    },
  ],
});

interface Watched {
  watcher: LiveWatcher;
  /** Settles when what is known of a bench fits. */
  until(fits: (watcher: LiveWatcher) => boolean): Promise<void>;
}

async function watched(shop: { shop: string; live: string }, options = {}): Promise<Watched> {
  const looks = new Set<() => void>();
  const lookAll = () => {
    for (const look of [...looks]) look();
  };
  const watcher = watchLive({
    shop: { ...shop, bench: "looker" },
    onChange: lookAll,
    onConnection: lookAll,
    ...options,
  });
  closing.push(watcher);
  await watcher.tried;
  return {
    watcher,
    until: (fits) =>
      new Promise((resolve) => {
        const look = () => {
          if (!fits(watcher)) return;
          looks.delete(look);
          resolve();
        };
        looks.add(look);
        look();
      }),
  };
}

const stateOf = (watcher: LiveWatcher, bench: string) => watcher.benches().find((each) => each.bench === bench)?.state;

test("a bench's output and figures are seen elsewhere, and the broker itself says when the bench is gone", async () => {
  const shop = newShop();
  const { until, watcher } = await watched(shop);
  const north = publishLive({ shop: { ...shop, bench: "north" } });
  await until((all) => stateOf(all, "north")?.is === "here");
  north.take(frame("on", 1.25));
  await until((all) => {
    const state = stateOf(all, "north");
    return state?.is === "here" && state.output === "on";
  });
  const seen = watcher.benches().find((each) => each.bench === "north");
  expect(seen?.feeds?.feeds).toEqual([{ feed: "aux", output: "on", volts: 12, amps: 1.25, ageMs: 5 }]);
  await north.close();
  await until((all) => stateOf(all, "north")?.is === "gone");
});

test("a bench that dies without a word is gone by the broker's word, also for one that looks later", async () => {
  const shop = newShop();
  const { until } = await watched(shop);
  const will = {
    topic: `firstamp/${shop.shop}/south/state`,
    payload: Buffer.from('{"is":"gone"}'),
    retain: true,
    qos: 1 as const,
  };
  const dying = await mqtt.connectAsync(shop.live, { protocolVersion: 5, will });
  const here = { is: "here", sentAtMs: Date.now(), output: "on", job: null, stage: null, waitingFor: null };
  await dying.publishAsync(will.topic, JSON.stringify(here), { retain: true, qos: 1 });
  await until((all) => stateOf(all, "south")?.is === "here");
  dying.stream.destroy();
  await until((all) => stateOf(all, "south")?.is === "gone");
  await dying.endAsync(true);
  const later = await watched(shop);
  await later.until((all) => stateOf(all, "south")?.is === "gone");
});

test("an age is counted by the sender's clock, also where that clock is a day off", async () => {
  const shop = newShop();
  let nowMs = Date.now();
  const { until, watcher } = await watched(shop, { nowMs: () => nowMs });
  const north = publishLive({ shop: { ...shop, bench: "north" }, nowMs: () => nowMs - 86_400_000, stateMs: 3_600_000 });
  closing.push(north);
  await until((all) => stateOf(all, "north")?.is === "here");
  north.take(frame("on", 1));
  await until((all) => (all.benches()[0]?.feeds ?? null) !== null);
  nowMs += 7000;
  expect(watcher.benches()[0]?.feeds?.ageMs).toBeGreaterThanOrEqual(7000);
  expect(watcher.benches()[0]?.feeds?.ageMs).toBeLessThan(17_000);
});

test("a hostile client of the broker shows nothing: 10 MB, junk, false names, kept rubbish, and a flood of 10,000", async () => {
  const shop = newShop();
  const hostile = await mqtt.connectAsync(shop.live, { protocolVersion: 5 });
  closing.push({ close: () => hostile.endAsync(true) });
  const topic = (bench: string, kind: string) => `firstamp/${shop.shop}/${bench}/${kind}`;
  const junk = [
    "",
    "{",
    "[]",
    "null",
    '{"is":"here"}',
    '{"is":"here","sentAtMs":1e99}',
    `{"is":"gone","x":1}`,
    "\u0000",
  ];
  for (const [index, text] of junk.entries())
    await hostile.publishAsync(topic(`bench-${index}`, "state"), text, { retain: true, qos: 1 });
  await hostile.publishAsync(topic("large", "state"), Buffer.alloc(10 * 1024 * 1024, 32), { retain: true, qos: 1 });
  for (let index = 0; index < 200; index++)
    await hostile.publishAsync(topic(`false-${index}`, "state"), '{"is":"gone"}', { retain: true, qos: 1 });

  const { until, watcher } = await watched(shop, { mostASecond: 2000 });
  await until((all) => all.benches().length === 64);
  expect(watcher.benches().every(({ bench, state }) => bench.startsWith("false-") && state?.is === "gone")).toBe(true);

  // Its clock stands still: all that comes is in one second, however slowly this machine passes it on.
  const flooded = await watched({ ...shop, shop: `${shop.shop}-flood` }, { quietMs: 60_000, nowMs: () => 0 });
  const closed = flooded.until((all) => !all.connection.reachable);
  for (let index = 0; index < 10_000; index++)
    hostile.publish(`firstamp/${shop.shop}-flood/a-${index % 50}/state`, '{"is":"gone"}', { qos: 0 });
  await closed;
  expect(flooded.watcher.connection.because).toContain("sends too much");
  expect(flooded.watcher.benches().length).toBeLessThanOrEqual(64);
});

test("a broker that is away harms nothing: what is live is not kept for it, and is told again when it is back", async () => {
  const own = await mosquittoBroker();
  closing.push(own);
  const shop = { shop: "tern-street", live: own.url };
  await own.stop();
  const north = publishLive({ shop: { ...shop, bench: "north" } });
  closing.unshift(north);
  for (let index = 0; index < 1000; index++) north.take(frame("on", index));
  const away = watchLive({ shop: { ...shop, bench: "looker" } });
  closing.unshift(away);
  await away.tried;
  expect(away.connection.reachable).toBe(false);
  await own.start();
  const { until } = await watched(shop);
  await until((all) => stateOf(all, "north")?.is === "here");
});

test("a broker that a network swallows holds nobody up at the end", async () => {
  const shop = newShop();
  let isCut = false;
  const proxy = createServer((near) => {
    const far = connect(Number(new URL(shop.live).port), "127.0.0.1");
    for (const [from, to] of [
      [near, far],
      [far, near],
    ] as const) {
      from.on("data", (bytes: Buffer) => void (isCut || to.write(bytes)));
      from.on("error", () => undefined);
      from.on("close", () => to.destroy());
    }
  });
  proxy.listen(0, "127.0.0.1");
  await once(proxy, "listening");
  const address = proxy.address();
  if (address === null || typeof address === "string") throw new Error("no port");
  const { until } = await watched(shop);
  const north = publishLive({ shop: { ...shop, bench: "north", live: `mqtt://127.0.0.1:${address.port}` } });
  await until((all) => stateOf(all, "north")?.is === "here");
  isCut = true;
  const began = performance.now();
  await north.close();
  expect(performance.now() - began).toBeLessThan(5000);
  proxy.close();
});
