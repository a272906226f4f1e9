import { mkdirSync, writeFileSync } from "node:fs";
import path from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import type { LiveBench } from "../../src/shop/live-watcher.ts";
import { watchLive } from "../../src/shop/live-watcher.ts";
import { endedInTime, type PoweredBench, poweredBench, untilTrue } from "../command/powered-bench.ts";
import { endPrograms } from "../command/run-program.ts";
import { type Broker, mosquittoBroker } from "./mosquitto-broker.ts";
import { type PostgresServer, postgresServer } from "./postgres-server.ts";
import { settingsOf } from "./shop-rig.ts";

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
function makeData(bench: PoweredBench, settings: object): void {
  const dir = path.join(bench.folder.path, "data");
  mkdirSync(dir, { mode: 0o700 });
  writeFileSync(path.join(dir, "shop.json"), JSON.stringify(settings));
}

test("a power-up on the command line is seen live elsewhere: its job, its figures, its verdict, and that it is over", async () => {
  const bench = await poweredBench({ scenario: "single-feed" });
  const url = await server.newDatabase();
  makeData(bench, settingsOf("north", url, broker.url));
  const shop = { shop: "tern-street", bench: "south", live: broker.url };
  const seen: LiveBench[] = [];
  const isGone = () => seen.at(-1)?.state?.is === "gone";
  const watcher = watchLive({
    shop,
    onChange: () => {
      const north = watcher.benches().find((each) => each.bench === "north");
      if (north !== undefined) seen.push(structuredClone(north));
    },
  });
  try {
    await watcher.tried;
    const { code, out, err } = await endedInTime(async () => {
      seen.length = 0;
      const ended = await bench.powerup("--json", "--watch", "5", "--waive", "a test").ended;
      // The program's last word may come by the broker after its end.
      if (ended.out !== "") await untilTrue(isGone);
      return ended;
    });
    expect(code, err).toBe(0);
    const document = JSON.parse(out) as { job: string; class: string };
    const whileOn = seen.find(({ state }) => state?.is === "here" && state.output === "on" && state.job !== null);
    expect(whileOn?.state).toMatchObject({ job: document.job });
    const figures = seen
      .flatMap(({ feeds }) => feeds?.feeds ?? [])
      .find(({ output, amps, volts }) => output === "on" && (amps ?? 0) > 0.1 && (volts ?? 0) > 0.5);
    expect(figures).toBeDefined();
    const last = seen.at(-1);
    expect(last?.verdict).toMatchObject({ job: document.job, class: document.class });
    expect(seen.some(({ run }) => run?.ended === "as-planned")).toBe(true);
    expect(last?.state).toMatchObject({ is: "gone" });
  } finally {
    await watcher.close();
    await bench.close();
  }
}, 300_000);
