import { mkdtemp, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import type { BenchFile } from "../../shared/files/bench-file.ts";
import { type FoundFeed, type FoundInstrument, IPC_PROTOCOL } from "../../shared/ipc.ts";

export const BENCH: BenchFile = {
  version: 1,
  instruments: { psu: { kind: "supply", address: "TCPIP0::127.0.0.1::1::SOCKET", driver: "numbered-supply" } },
  feeds: { aux: { supply: "psu", channel: 1, leadOhms: 0.04, sense: "local", readsAtSense: false } },
};

const INSTRUMENT: FoundInstrument = {
  name: "psu",
  kind: "supply",
  address: "TCPIP0::127.0.0.1::1::SOCKET",
  identity: "Tern Street Electronics,SCRIPTED,1,1",
  serialNumber: "1",
  driver: "numbered-supply",
  driverWhy: [],
  roundTrip: { p50Ms: 2, p99Ms: 5, count: 20 },
  accuracy: null,
  stepVolts: 0.001,
  stepAmps: 0.001,
  offsetAmps: 0,
  riseMs: 20,
  hasOverVoltage: true,
  hasOverCurrent: true,
  hasWatchdog: false,
};

const FEED: FoundFeed = {
  feed: "aux",
  supply: "psu",
  channel: 1,
  output: "off",
  cutByUs: false,
  volts: 0,
  maxVolts: 30,
  maxAmps: 5,
  readIntervalMs: 50,
};

/**
 * A bench process of another program: a real process on the real pipe that says just what its script says. The script
 * may use `on` (what it does at a message, by type), `send`, `done` (answers a message) and `count` (by type).
 */
export class ScriptedBench {
  readonly program: string;
  readonly directory: string;

  private constructor(directory: string) {
    this.directory = directory;
    this.program = join(directory, "bench.mjs");
  }

  static async write(script: string): Promise<ScriptedBench> {
    const bench = new ScriptedBench(await mkdtemp(join(tmpdir(), "firstamp-scripted-")));
    await writeFile(
      bench.program,
      `
const count = {};
const send = (message) => process.send(message);
const done = ({ id }) => send({ type: "done", id });
const tell = (message) => send({ type: "problem", id: null, problem: { code: "bad-message", message, instrument: null, output: "untouched" } });
const on = {
  hello: () => send({ type: "hello", protocol: ${IPC_PROTOCOL}, pid: 0, scheduling: "scripted" }),
  connect: (message) => {
    send({ type: "connected", id: message.id, instruments: [${JSON.stringify(INSTRUMENT)}], feeds: [${JSON.stringify(FEED)}] });
    done(message);
  },
  run: done, answer: done, stop: done, cut: done,
  close: (message) => {
    const outcome = { ended: "stopped-by-person", trip: null, output: "off", limitToTry: null, raises: 0, reachedStage: "touch" };
    if (count.run > 0) send({ type: "ended", run: 1, outcome, roundTrip: {} });
    done(message);
  },
};
const question = (number) => send({ type: "question", question: number, asks: "manual-on", feed: "aux", fromAmps: null, toAmps: null, because: "by hand" });
process.on("message", (message) => {
  count[message.type] = (count[message.type] ?? 0) + 1;
  on[message.type]?.(message);
});
process.on("disconnect", () => process.exit(0));
setInterval(() => send({ type: "beat" }), 25);
${script}
`,
    );
    return bench;
  }

  async remove(): Promise<void> {
    await rm(this.directory, { recursive: true, force: true });
  }
}
