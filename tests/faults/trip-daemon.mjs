/**
 * The daemon's own parts, run after run without a person: bench processes with their guardians, the record with its
 * commits, the pages' frames. Each run is tripped by its instrument; the next begins at once. Where the data directory has a shop's
 * settings, the bench takes part in that shop meanwhile, and ends when nothing waits to be sent.
 */

import { joinShop } from "../../dist/src/command/shop/join-shop.js";
import { publishRun } from "../../dist/src/command/shop/publish-run.js";
import { PageShow } from "../../dist/src/daemon/page/show-page.js";
import { BenchProcess } from "../../dist/src/daemon/process/bench-process.js";
import { openDataFolder } from "../../dist/src/daemon/process/data-folder.js";
import { ActiveRun } from "../../dist/src/daemon/run/active-run.js";
import { prepareRun, runHeader } from "../../dist/src/daemon/run/prepare-run.js";
import { loadDrivers } from "../../dist/src/instrument/load-drivers.js";
import { startWire } from "../../dist/src/wire/start-wire.js";

const { directory, benches, board, pageDir, wires } = JSON.parse(process.argv[2]);
const FRAME_MS = 50;
const data = await openDataFolder(directory);
const shop = joinShop(data.store, () => {});
const { drivers } = await loadDrivers(null);
const show = new PageShow();
const facade = {
  snapshot: () => ({
    program: "",
    bench: { simulated: true, feeds: [], instruments: [], warnings: [] },
    board: null,
    ...show.snapshot(),
  }),
  subscribe: (listener) => show.subscribe(listener),
  command: async () => ({ result: "done" }),
};
const open = await Promise.all(Array.from({ length: wires }, () => startWire({ facade, pageDir })));
const request = {
  bench: null,
  drivers,
  board,
  coldOhms: {},
  conditions: {
    host: "unknown",
    fans: "unknown",
    cooler: "cooler",
    polarityChecked: null,
    commonReturn: null,
    sidebandStrapped: null,
    pairsUnplugged: null,
  },
  waiver: { reason: "a test", items: null },
  watchSeconds: 5,
  keepOn: false,
};
let ended = false;
const trips = {};
let latest = [];
// Twenty frames a second, also while one bench is between two runs.
setInterval(() => show.frame(latest, { nowMs: latest.at(-1)?.atMs ?? 0, keep: false }), FRAME_MS);

async function lane(bench, index) {
  const client = new BenchProcess({ armDirectory: `${data.runDirectory}/${index}` });
  const prepare = () => prepareRun(client, { ...request, bench });
  const prepared = await prepare().catch(prepare).catch(prepare);
  const job = await data.store.newJob({ board: board.name });
  while (!ended) {
    const header = runHeader(prepared, "powerup");
    const armDirectory = `${data.runDirectory}/${index}`;
    const run = await ActiveRun.start({
      client,
      store: data.store,
      job,
      header,
      armDirectory,
      confirmsRaises: false,
    }).catch((cause) => {
      // On a machine that is busy enough a run may not begin in time; with its process gone none does.
      if (client.isLost) throw cause;
      return null;
    });
    if (run === null) continue;
    publishRun(run, shop);
    run.on("progress", (events) => {
      const readings = events.flatMap((each) => (each.event === "reading" ? [each.reading] : []));
      if (readings.length > 0) latest = readings;
    });
    const { outcome } = await run.done;
    const rule = outcome.trip?.rule ?? outcome.ended;
    trips[rule] = (trips[rule] ?? 0) + 1;
  }
  await client.close();
  return client.scheduling;
}

process.send({ urls: open.map((each) => each.url) });
process.on("message", () => {
  ended = true;
});
const scheduling = await Promise.all(benches.map(lane));
await Promise.all(open.map((each) => each.close()));
const waiting = async () => (await shop.look())?.record?.waiting ?? 1;
while (shop.isMember && (await waiting()) > 0) await new Promise((resolve) => setTimeout(resolve, 100));
await shop.close();
await data.close();
process.send({ trips, scheduling: scheduling[0] }, () => process.exit(0));
