import type { ChildProcess } from "node:child_process";
import { existsSync, mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { mkdtemp, rm } from "node:fs/promises";
import os from "node:os";
import path from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { captureFile } from "../../src/capture/capture-files.ts";
import { watchLive } from "../../src/shop/live-watcher.ts";
import { type CutProxy, cutProxy, type Network } from "../shop/cut-proxy.ts";
import { type Broker, mosquittoBroker } from "../shop/mosquitto-broker.ts";
import { type PostgresServer, postgresServer } from "../shop/postgres-server.ts";
import { contentOf, settingsOf, testBench } from "../shop/shop-rig.ts";
import { quantile } from "./fault-report.ts";
import { begin, here, message } from "./forked.ts";

/** Cuts of the network in each way. */
const CUTS = Number(process.env["FIRSTAMP_NETWORK_CUTS"] ?? 1);
/** Trips before each change of the network. */
const TRIPS = 8;
const LANES = 2;
/** A trip that waited for the network would take seconds; what a busy machine adds to a few milliseconds is less than this many times. */
const TIMES = 5;

let server: PostgresServer;
let broker: Broker;
let ways: CutProxy[];
beforeAll(async () => {
  [server, broker] = await Promise.all([postgresServer(), mosquittoBroker()]);
  ways = await Promise.all([server.port, Number(new URL(broker.url).port)].map(cutProxy));
});
afterAll(async () => {
  for (const way of ways) way.close();
  await Promise.all([server.close(), broker.close()]);
});

interface Trip {
  who: "program" | "echo";
  tookMs: number | null;
}

test("a network that is cut in mid-run, silently or by a reset, changes no trip; all is filed, and everywhere later", {
  timeout: 120_000 + 60_000 * CUTS,
}, async () => {
  const url = await server.newDatabase();
  const folder = await mkdtemp(path.join(os.tmpdir(), "firstamp-network-"));
  const directory = path.join(folder, "data");
  mkdirSync(directory, { mode: 0o700 });
  const [record, live] = ways.map(({ port }) => port);
  const settings = settingsOf("north", url.replace(`:${server.port}/`, `:${record}/`), `mqtt://127.0.0.1:${live}`);
  writeFileSync(path.join(directory, "shop.json"), JSON.stringify(settings));
  const watcher = watchLive({ shop: { shop: "tern-street", bench: "looker", live: broker.url } });
  const lastSaid = (): number => watcher.benches().find(({ bench }) => bench === "north")?.run?.sentAtMs ?? 0;
  const instruments = begin("./trip-instruments.mjs", { lanes: LANES });
  const running: ChildProcess[] = [instruments];
  try {
    const { benches, board, echo } = await message<{ benches: unknown[]; board: unknown; echo: string }>(instruments);
    let now: Network = "whole";
    let trips = 0;
    let seen: () => void = () => undefined;
    const took: Record<Network, Record<Trip["who"], (number | null)[]>> = {
      whole: { program: [], echo: [] },
      silent: { program: [], echo: [] },
      reset: { program: [], echo: [] },
    };
    instruments.on("message", (raw) => {
      const { who, tookMs } = raw as Trip;
      took[now][who].push(tookMs);
      if (who === "program") trips++;
      seen();
    });
    running.push(begin("./trip-echo.mjs", { address: echo }));
    const daemon = begin("./trip-daemon.mjs", { directory, benches, board, pageDir: here("../../dist/web"), wires: 1 });
    running.push(daemon);
    await message(daemon);
    const lost = message<never>(daemon);
    const until = (fits: () => boolean): Promise<void> =>
      Promise.race([
        lost,
        new Promise<void>((resolve) => {
          const look = setInterval(() => seen(), 500);
          seen = () => {
            if (!fits()) return;
            clearInterval(look);
            resolve();
          };
        }),
      ]);
    const be = async (network: Network): Promise<void> => {
      for (const way of ways) way.be(network);
      now = network;
      const enough = trips + TRIPS;
      await until(() => trips >= enough);
    };
    await until(() => lastSaid() > 0);
    for (let cut = 0; cut < CUTS; cut++)
      for (const each of ["whole", "silent", "whole", "reset"] as const) await be(each);
    const healedAtMs = Date.now();
    await be("whole");
    await until(() => lastSaid() > healedAtMs);
    lost.catch(() => undefined);
    daemon.send("end");
    // It says so when nothing waits any more.
    await message(daemon);

    const [north, south] = [await testBench("north", url, { dir: directory }), await testBench("south", url)];
    try {
      expect(await north.store.set.waiting()).toEqual({ events: 0, files: 0, since: null });
      await south.exchange();
      const content = await contentOf(north.store);
      expect(await contentOf(south.store)).toEqual(content);
      const tripped = content.flatMap(({ events }) =>
        events.filter(({ kind, body }) => kind === "run-ended" && JSON.parse(body).end.outcome.trip !== null),
      );
      expect(tripped.length).toBeGreaterThanOrEqual(trips);
      const captures = content.flatMap((job) => job.captures);
      expect(captures.length).toBeGreaterThanOrEqual(trips);
      for (const { id } of captures) {
        const [here, there] = [north, south].map(({ store }) => captureFile(store.captureDir, id));
        if (existsSync(here ?? "")) expect(readFileSync(there ?? "").equals(readFileSync(here ?? ""))).toBe(true);
      }
    } finally {
      await south.close();
      await north.close();
    }
    const p50 = (network: Network, who: Trip["who"]): number =>
      quantile(
        took[network][who].map((each) => each ?? Number.POSITIVE_INFINITY),
        0.5,
      );
    const figures = (Object.keys(took) as Network[]).map((network) => ({
      network,
      trips: took[network].program.length,
      programMs: p50(network, "program"),
      echoMs: p50(network, "echo"),
    }));
    process.stdout.write(`${JSON.stringify({ figures, load: os.loadavg()[0] })}\n`);
    for (const { program } of Object.values(took)) expect(program).not.toContain(null);
    const whole = Math.max(1, p50("whole", "program"));
    for (const cut of ["silent", "reset"] as const) expect(p50(cut, "program")).toBeLessThanOrEqual(TIMES * whole);
  } finally {
    for (const child of running) child.kill("SIGTERM");
    await watcher.close();
    await rm(folder, { recursive: true, force: true });
  }
});
