import { once } from "node:events";
import { mkdirSync, writeFileSync } from "node:fs";
import { connect, createServer, type Server, type Socket } from "node:net";
import path from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import type { LiveBench } from "../../src/shop/live-watcher.ts";
import { watchLive } from "../../src/shop/live-watcher.ts";
import { realClock } from "../../src/system/real-clock.ts";
import { type PoweredBench, poweredBench } from "../command/powered-bench.ts";
import { endPrograms, runProgram } from "../command/run-program.ts";
import { type Broker, mosquittoBroker } from "./mosquitto-broker.ts";
import { type PostgresServer, postgresServer } from "./postgres-server.ts";
import { contentOf, settingsOf, testBench } from "./shop-rig.ts";

let server: PostgresServer;
let broker: Broker;
beforeAll(async () => {
  [server, broker] = await Promise.all([postgresServer(), mosquittoBroker()]);
});
afterAll(async () => {
  await endPrograms();
  await Promise.all([server.close(), broker.close()]);
});

/** A data directory that the powered bench's commands use, of a bench of the shop. */
function dataOf(bench: PoweredBench, settings: object | null, name = "data"): string {
  const dir = path.join(bench.folder.path, name);
  mkdirSync(dir, { mode: 0o700 });
  if (settings !== null) writeFileSync(path.join(dir, "shop.json"), JSON.stringify(settings));
  return dir;
}

test("a power-up on the command line is seen live elsewhere: its job, its figures, its verdict, and that it is over", async () => {
  const bench = await poweredBench({ scenario: "single-feed" });
  const url = await server.newDatabase();
  dataOf(bench, settingsOf("north", url, broker.url));
  const shop = { shop: "tern-street", bench: "south", live: broker.url };
  const seen: LiveBench[] = [];
  const watcher = watchLive({
    shop,
    onChange: () => {
      const north = watcher.benches().find((each) => each.bench === "north");
      if (north !== undefined) seen.push(structuredClone(north));
    },
  });
  try {
    await watcher.tried;
    const { code, out, err } = await bench.powerup("--json", "--watch", "5", "--waive", "a test").ended;
    expect(code, err).toBe(0);
    const document = JSON.parse(out) as { job: string; class: string };
    const whileOn = seen.find(({ state }) => state?.is === "here" && state.output === "on" && state.job !== null);
    expect(whileOn?.state).toMatchObject({ job: document.job });
    const figures = seen
      .flatMap(({ feeds }) => feeds?.feeds ?? [])
      .find(({ output, amps }) => output === "on" && (amps ?? 0) > 0.1);
    expect(figures?.volts).toBeGreaterThan(0.5);
    const last = seen.at(-1);
    expect(last?.verdict).toMatchObject({ job: document.job, class: document.class });
    expect(seen.some(({ run }) => run?.ended === "as-planned")).toBe(true);
    expect(last?.state).toMatchObject({ is: "gone" });
  } finally {
    await watcher.close();
    await bench.close();
  }
}, 120_000);

/** A way to a server that swallows everything, in both directions, from when it is told to: as a cable that is pulled does. */
async function swallowingProxy(
  port: number,
): Promise<{ server: Server; port: number; swallow(): void; restore(): void }> {
  let isCut = false;
  const ends = new Set<Socket>();
  const proxy = createServer((near) => {
    const far = connect(port, "127.0.0.1");
    for (const [from, to] of [
      [near, far],
      [far, near],
    ] as const) {
      ends.add(from);
      from.on("data", (bytes: Buffer) => void (isCut || to.write(bytes)));
      from.on("error", () => undefined);
      from.on("close", () => {
        ends.delete(from);
        to.destroy();
      });
    }
  });
  proxy.listen(0, "127.0.0.1");
  await once(proxy, "listening");
  const address = proxy.address();
  if (address === null || typeof address === "string") throw new Error("no port");
  return {
    server: proxy,
    port: address.port,
    swallow: () => {
      isCut = true;
    },
    restore: () => {
      isCut = false;
      for (const each of ends) each.destroy();
    },
  };
}

/** A reading of this supply: volts, amps, mode, output, set volts, set amps. */
const READING = /^[^;]*;[^;]*;[^;]*;([01]);/;

/**
 * Makes the supply give a reading that trips the run, at the `nth` with the output on; each call is for the next run, and answers how
 * long the off took, by the supply's own log.
 */
function readingSpoiler(bench: PoweredBench, nth: number): (atReading: () => void) => Promise<number> {
  const { simulation } = bench;
  let on = 0;
  let before = (): void => undefined;
  let resolve: (tookMs: number) => void = () => undefined;
  simulation.misbehave.replies("psu", "all", {
    fault: "rewrite",
    as: (text) => {
      if (READING.exec(text)?.[1] !== "1") return text;
      on++;
      if (on === nth - 20) before();
      if (on !== nth) return text;
      const badMs = realClock.nowMs();
      realClock.after(300, () => {
        const off = simulation
          .history()
          .find(({ kind, text: line, atMs }) => kind === "command" && /^OUTP\d? OFF/.test(line) && atMs >= badMs);
        resolve(off === undefined ? Number.POSITIVE_INFINITY : off.atMs - badMs);
      });
      return text.replace(/^[^;]*/, "9.9E37");
    },
  });
  return (atReading) =>
    new Promise((settle) => {
      on = 0;
      before = atReading;
      resolve = settle;
    });
}

test("a network that is cut in mid-run keeps no trip waiting; all of it is filed, and is everywhere later", async () => {
  const url = await server.newDatabase();
  const [record, live] = await Promise.all([
    swallowingProxy(server.port),
    swallowingProxy(Number(new URL(broker.url).port)),
  ]);
  const settings = settingsOf(
    "north",
    url.replace(`:${server.port}/`, `:${record.port}/`),
    `mqtt://127.0.0.1:${live.port}`,
  );
  const took = { alone: [] as number[], cut: [] as number[] };
  const jobs: string[] = [];
  const bench = await poweredBench({ scenario: "single-feed" });
  const data = dataOf(bench, settings);
  const alone = dataOf(bench, null, "alone");
  const spoiled = readingSpoiler(bench, 60);
  try {
    for (let round = 0; round < 3; round++) {
      const without = spoiled(() => undefined);
      expect(
        (await bench.powerup("--json", "--watch", "10", "--waive", "a test", "--data", alone).ended).code,
      ).not.toBe(0);
      took.alone.push(await without);
      // The exchange and the broker are there when the run begins, and gone before it trips.
      const off = spoiled(() => {
        record.swallow();
        live.swallow();
      });
      const { out, code } = await bench.powerup("--json", "--watch", "10", "--waive", "a test").ended;
      expect(code).not.toBe(0);
      const document = JSON.parse(out) as { job: string; output: string };
      expect(document.output).toBe("off");
      jobs.push(document.job);
      took.cut.push(await off);
      record.restore();
      live.restore();
    }
    const middle = (values: number[]): number => [...values].sort((a, b) => a - b)[1] ?? Number.NaN;
    expect(middle(took.cut)).toBeLessThanOrEqual(3 * Math.max(5, middle(took.alone)));
    expect((await runProgram(["shop", "sync", "--data", data])).code).toBe(0);
    const south = await testBench("south", url);
    await south.exchange();
    const north = await testBench("north", url, { dir: data });
    expect((await south.store.list()).map(({ job }) => job).sort()).toEqual(jobs.sort());
    expect(await contentOf(south.store)).toEqual(await contentOf(north.store));
    await south.close();
    await north.close();
  } finally {
    for (const each of [record, live]) each.server.close();
    await bench.close();
  }
}, 300_000);
