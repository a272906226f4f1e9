import { execFile } from "node:child_process";
import { chmodSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import path from "node:path";
import { promisify } from "node:util";
import mqtt from "mqtt";
import { afterEach, beforeEach, expect, test } from "vitest";
import { publishLive } from "../../src/shop/live-publisher.ts";
import { type LiveWatcher, watchLive } from "../../src/shop/live-watcher.ts";
import { certificate } from "./certificate.ts";
import { mosquittoBroker } from "./mosquitto-broker.ts";

const run = promisify(execFile);
const PASSWORD = "a word for both benches";
const cleanUp: (() => Promise<unknown> | unknown)[] = [];
beforeEach(() => {
  process.env["FIRSTAMP_LIVE_PASSWORD"] = PASSWORD;
});
afterEach(async () => {
  delete process.env["FIRSTAMP_LIVE_PASSWORD"];
  for (const each of cleanUp.splice(0).reverse()) await each();
});

/** The blocks of docs/shop.md with settings of mosquitto and with its access list. */
function fromThePage(): { settings: string; access: string } {
  const page = readFileSync(new URL("../../docs/shop.md", import.meta.url), "utf8");
  const blocks = [...page.matchAll(/^```\w*\n(.*?)^```$/gms)].map(([, text]) => text ?? "");
  const found = (word: string): string => {
    const block = blocks.find((text) => text.startsWith(word));
    if (block === undefined) throw new Error(`docs/shop.md has no block that begins with "${word}"`);
    return block;
  };
  return { settings: found("listener"), access: found("pattern") };
}

/** The broker as docs/shop.md sets it up, with a certificate that is good for so many days. */
async function brokerOfThePage(days: number) {
  const folder = mkdtempSync(path.join(tmpdir(), "firstamp-doors-"));
  chmodSync(folder, 0o755);
  cleanUp.push(() => rmSync(folder, { recursive: true, force: true }));
  const made = await certificate(folder, days);
  const at = (name: string) => path.join(folder, name);
  const { settings, access } = fromThePage();
  writeFileSync(at("acl"), access);
  await run("mosquitto_passwd", ["-b", "-c", at("passwords"), "north", PASSWORD]);
  await run("mosquitto_passwd", ["-b", at("passwords"), "south", PASSWORD]);
  for (const name of ["acl", "passwords", "server.key", "server.pem", "ca.pem"]) chmodSync(at(name), 0o644);
  const broker = await mosquittoBroker((port) =>
    settings
      .replace("listener 8883", `listener ${port} 127.0.0.1`)
      .replace("/etc/firstamp/shop-ca.pem", made.ca)
      .replace("/etc/mosquitto/certs/server.pem", made.certificate)
      .replace("/etc/mosquitto/certs/server.key", made.key)
      .replace("/etc/mosquitto/passwords", at("passwords"))
      .replace("/etc/mosquitto/acl", at("acl")),
  );
  cleanUp.push(() => broker.close());
  const { port } = new URL(broker.url);
  return { ca: made.ca, as: (user: string, ca = made.ca) => `mqtts://${user}@127.0.0.1:${port}?ca=${ca}`, port };
}

const SHOP = "tern-street";

/** A look at the broker, and a wait until what is seen fits. */
function look(live: string): { watcher: LiveWatcher; until(fits: () => boolean): Promise<void> } {
  let changed: () => void = () => undefined;
  const watcher = watchLive({
    shop: { shop: SHOP, bench: "looker", live },
    onChange: () => changed(),
    onConnection: () => changed(),
  });
  cleanUp.push(() => watcher.close());
  return {
    watcher,
    until: (fits) =>
      new Promise((resolve) => {
        changed = () => void (fits() && resolve());
        changed();
      }),
  };
}

test("the broker of docs/shop.md lets a bench speak under its own name only, and lets no stranger in", async () => {
  const { as, ca, port } = await brokerOfThePage(30);
  const { watcher, until } = look(as("south"));
  const north = publishLive({ shop: { shop: SHOP, bench: "north", live: as("north") }, stateMs: 100 });
  cleanUp.push(() => north.close());
  const stateOf = (bench: string) => watcher.benches().find((each) => each.bench === bench)?.state;
  await until(() => stateOf("north")?.is === "here");

  const south = await mqtt.connectAsync(`mqtts://south@127.0.0.1:${port}`, {
    protocolVersion: 5,
    password: PASSWORD,
    ca: readFileSync(ca),
  });
  cleanUp.push(() => south.endAsync(true));
  // A broker answers a message that may not be with 135, "Not authorized" (MQTT 5.0, 3.4.2.1).
  const said = { qos: 1 as const, retain: true };
  await expect(south.publishAsync(`firstamp/${SHOP}/north/state`, '{"is":"gone"}', said)).rejects.toMatchObject({
    code: 135,
  });
  await south.publishAsync(`firstamp/${SHOP}/south/state`, '{"is":"gone"}', said);
  await until(() => stateOf("south")?.is === "gone");
  expect(stateOf("north")?.is).toBe("here");

  process.env["FIRSTAMP_LIVE_PASSWORD"] = "another";
  const stranger = look(as("south"));
  await stranger.watcher.tried;
  expect(stranger.watcher.connection).toMatchObject({ reachable: false });
  expect(stranger.watcher.connection.because).toMatch(/not authori[sz]ed|password/i);
});

test("a broker whose certificate has expired, or that nobody here trusts, is told nothing, and it is said why", async () => {
  const expired = await brokerOfThePage(-1);
  const late = look(expired.as("south"));
  await late.watcher.tried;
  expect(late.watcher.connection).toEqual({ reachable: false, because: "its certificate has expired" });

  const good = await brokerOfThePage(30);
  const distrusting = look(good.as("south", expired.ca));
  await distrusting.watcher.tried;
  expect(distrusting.watcher.connection.reachable).toBe(false);
  expect(distrusting.watcher.connection.because).toMatch(/trusts nobody who signed/);

  expect(() => look(good.as("south", "/none/ca.pem"))).toThrow(/certificate authority "\/none\/ca.pem"/);
});
