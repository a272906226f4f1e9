import { execFile } from "node:child_process";
import { rename, writeFile } from "node:fs/promises";
import { connect, createServer, type Server, type Socket } from "node:net";
import { promisify } from "node:util";
import { expect, test, vi } from "vitest";
import type { BenchFile, InstrumentEntry } from "../../shared/files/bench-file.ts";
import { isOn, timesOn } from "./powered-bench.ts";
import { runProgram, type TestFolder, testFolder } from "./run-program.ts";
import { askedOf, benchProcessesOf, serveProgram } from "./served-bench.ts";
import {
  begin,
  begun,
  benchUntil,
  closeAfterEach,
  closeLater,
  filesOf,
  hold,
  openBench,
  openDaemon,
  outcomeOf,
} from "./served-run.ts";

// Runs in real time are done again on a machine that is too busy for them.
vi.setConfig({ testTimeout: 180_000 });

closeAfterEach();

async function openFolder(): Promise<TestFolder> {
  const folder = await testFolder();
  closeLater(folder.remove);
  return folder;
}

/** A door at a port of its own to wherever an instrument listens, opened late. */
class Door {
  readonly port: number;
  readonly #sockets = new Set<Socket>();
  #server: Server | null = null;

  private constructor(port: number) {
    this.port = port;
  }

  static async closed(): Promise<Door> {
    const server = createServer();
    await new Promise<void>((resolve) => server.listen(0, "127.0.0.1", resolve));
    const address = server.address();
    await new Promise((resolve) => server.close(resolve));
    return new Door(typeof address === "object" && address !== null ? address.port : 0);
  }

  async openTo(port: number): Promise<void> {
    const server = createServer((near) => {
      const far = connect(port, "127.0.0.1");
      for (const [one, other] of [
        [near, far],
        [far, near],
      ] as const) {
        this.#sockets.add(one);
        one.on("error", () => other.destroy());
        one.on("close", () => other.destroy());
        one.pipe(other);
      }
    });
    this.#server = server;
    await new Promise<void>((resolve) => server.listen(this.port, "127.0.0.1", resolve));
  }

  async close(): Promise<void> {
    for (const each of this.#sockets) each.destroy();
    await new Promise((resolve) => (this.#server === null ? resolve(null) : this.#server.close(resolve)));
    this.#server = null;
  }
}

const portOf = (address: string): number => Number(address.split("::")[2]);

test("without a bench file the record and the page are served, and a start is refused in a sentence", async () => {
  const folder = await openFolder();
  const data = `${folder.path}/data`;
  const made = await runProgram(["job", "new", "--title", "Kestrel K2, no picture", "--data", data, "--json"]);
  const { job } = JSON.parse(made.out) as { job: string };
  const served = await serveProgram([], data);
  expect(JSON.parse((await served.ask("/api/jobs")).text)).toMatchObject({ jobs: [{ id: job }] });
  expect((await served.ask("/", {})).text).toContain("<title>");
  const by = await served.script();
  const { snapshot } = await by.client.next("snapshot");
  expect(snapshot.bench.warnings.join()).toContain("No bench file was given");
  const bench = await openBench();
  const feeds = [{ feed: "in12", volts: 12, limitAmps: 1, highestAmps: 1 }];
  expect(await by.start(askedOf(bench.simulation), { feeds }, await by.takeLease())).toMatchObject({
    result: "refused",
    because: expect.stringMatching(/--bench.*Nothing was touched/),
  });
});

test("instruments that are not there are named while the daemon lives, and are connected when they come", async () => {
  const bench = await openBench();
  const doors = { psu: await Door.closed(), dmm: await Door.closed() };
  closeLater(async () => {
    await doors.psu.close();
    await doors.dmm.close();
  });
  const { benchFile } = bench.simulation;
  const through = ([name, entry]: [string, InstrumentEntry]): [string, InstrumentEntry] => {
    const door = name === "psu" ? doors.psu : doors.dmm;
    return [name, { ...entry, address: `TCPIP0::127.0.0.1::${door.port}::SOCKET` }];
  };
  const file: BenchFile = {
    ...benchFile,
    instruments: Object.fromEntries(Object.entries(benchFile.instruments).map(through)),
  };
  await writeFile(`${bench.folder.path}/bench.json`, JSON.stringify(file));
  const served = await serveProgram(filesOf(bench), `${bench.folder.path}/data`);
  const by = await served.script();
  await benchUntil(by, (connected, warnings) => !connected && warnings.includes("psu"));
  const openDoors = async (): Promise<void> => {
    await doors.psu.openTo(portOf(benchFile.instruments["psu"]?.address ?? ""));
    await doors.dmm.openTo(portOf(benchFile.instruments["dmm"]?.address ?? ""));
  };
  await openDoors();
  await benchUntil(by, (connected) => connected);
  await by.client.next("frame");
  // Unplugged while idle: nothing is known of the output any more; plugged in again it is found by itself.
  await doors.psu.close();
  await benchUntil(by, (connected) => !connected);
  const { snapshot } = await (await served.script()).client.next("snapshot");
  expect(snapshot.bench.feeds[0]?.output).toBe("unknown");
  await doors.psu.openTo(portOf(benchFile.instruments["psu"]?.address ?? ""));
  await benchUntil(by, (connected) => connected);
  expect(timesOn(bench.simulation)).toBe(0);
});

test("a bench process killed while it holds a board on: off, told to the page, filed, and the next run goes", async () => {
  const bench = await openBench();
  const open = await openDaemon(bench);
  const { served, by } = open;
  const run = await hold(open);
  expect(isOn(bench.simulation)).toBe(true);
  const [pid] = await benchProcessesOf(served.program);
  process.kill(pid ?? -1, "SIGKILL");
  await benchUntil(by, (connected, warnings) => !connected && warnings.includes("SIGKILL"));
  const outcome = await outcomeOf(by, run);
  expect(outcome).toMatchObject({ ended: "failed", output: "off", trip: { rule: "link-lost" } });
  expect(outcome.trip?.because).toContain("guardian switched off");
  expect(isOn(bench.simulation)).toBe(false);
  await benchUntil(by, (connected) => connected);
  expect(await benchProcessesOf(served.program)).toHaveLength(1);
  await hold(open);
  await by.cut();
});

test("many runs leave no listener behind and no second bench process", async () => {
  const bench = await openBench();
  const open = await openDaemon(bench);
  const { served, by } = open;
  for (let each = 0; each < 12; each++) {
    const run = await begun(open);
    await by.cut();
    await outcomeOf(by, run);
  }
  expect(await benchProcessesOf(served.program)).toHaveLength(1);
  // Node itself says so from the eleventh listener of a kind on.
  expect(served.program.said.err).not.toContain("MaxListenersExceededWarning");
});

test("a record that cannot be opened refuses the start; the page is not left with a run that never ends", async () => {
  const bench = await openBench();
  const open = await openDaemon(bench);
  const { served } = open;
  const captures = `${bench.folder.path}/data/captures`;
  await rename(captures, `${captures}-away`);
  await writeFile(captures, "in the way");
  expect(await (await begin(open)).answer).toMatchObject({ result: "refused", code: "data-not-writable" });
  const { snapshot } = await (await served.script()).client.next("snapshot");
  expect(snapshot.run?.outcome === null).toBe(false);
  expect(timesOn(bench.simulation)).toBe(0);
});

test("a disk that takes nothing more while a board is held on: off, and the page is told that the record is not whole", async () => {
  const bench = await openBench();
  const open = await openDaemon(bench);
  const { served, by } = open;
  const run = await hold(open);
  // No file of the daemon's may grow from here on.
  await promisify(execFile)("prlimit", ["--pid", String(served.program.child.pid), "--fsize=1"]);
  expect(await outcomeOf(by, run)).toMatchObject({ output: "off" });
  expect(isOn(bench.simulation)).toBe(false);
  let line = (await by.client.next("log")).line;
  while (line.level !== "error") line = (await by.client.next("log")).line;
  expect(line.text).toContain("The record is incomplete");
  served.program.child.kill("SIGTERM");
  expect((await served.program.ended).code).toBe(0);
});

test("a port that another program has ends serve with a sentence, and nothing of it is left", async () => {
  const bench = await openBench();
  const server = createServer();
  await new Promise<void>((resolve) => server.listen(0, "127.0.0.1", resolve));
  closeLater(async () => void (await new Promise((resolve) => server.close(resolve))));
  const address = server.address();
  const port = typeof address === "object" && address !== null ? address.port : 0;
  const ended = await runProgram([
    "serve",
    ...filesOf(bench),
    "--data",
    `${bench.folder.path}/data`,
    "--port",
    String(port),
  ]);
  expect(ended.err).toContain(`port ${port}: another program has it`);
  expect(ended.code).toBe(2);
});
