import { pause } from "../../shared/clock.ts";
import { DriverFile } from "../../shared/files/driver-file.ts";
import { type FromBench, IPC_PROTOCOL, type ToBench } from "../../shared/ipc.ts";
import type { Plan, PlanFeed, RunOutcome } from "../../shared/plan.ts";
import { Bench } from "../../src/bench/bench.ts";
import type { Link, LinkClosed, LinkLine } from "../../src/link/link.ts";
import { HandClock } from "../hand-clock.ts";
import { RigPage } from "./rig-page.ts";

/** What came over the wire or the IPC, in the one order in which it came. */
export type Entry =
  | { what: "on" | "off" | "measured"; channel: number; atMs: number }
  | { what: "told"; message: ToBench; atMs: number }
  | { what: "said"; message: FromBench; atMs: number };

export const LATENCY_MS = 10;
const CHANNELS = [1, 2, 3];

/** A family of supplies with numbered headers and nothing that a test does not need. */
const DRIVER = DriverFile.parse({
  version: 1,
  name: "rig-supply",
  kind: "supply",
  describes: "The supply of this rig.",
  probe: { order: 1, asks: [{ ask: "OUTP1?", answers: "boolean" }] },
  channels: { count: CHANNELS.length },
  askError: null,
  resolution: { volts: 0.001, amps: 0.001 },
  riseMs: 1,
  operations: {
    setVolts: "VOLT{channel} {value}",
    askSetVolts: "VOLT{channel}?",
    setAmps: "CURR{channel} {value}",
    askSetAmps: "CURR{channel}?",
    outputOn: "OUTP{channel} ON",
    outputOff: "OUTP{channel} OFF",
    askOutput: "OUTP{channel}?",
    measureVolts: "MEAS:VOLT{channel}?",
    measureAmps: "MEAS:CURR{channel}?",
  },
});

interface Channel {
  volts: number;
  amps: number;
  on: boolean;
}

/** A supply of three channels in memory: takes lines, switches at once, answers after the latency. */
class RigSupply {
  readonly channels = new Map<number, Channel>(CHANNELS.map((each) => [each, { volts: 0, amps: 0, on: false }]));
  /** Answers come so much later from now on, milliseconds. */
  lateMs = 0;
  readonly #clock: HandClock;
  readonly #log: (entry: Entry) => void;
  #link: { line: (line: LinkLine) => void; closed: (closed: LinkClosed) => void; isOpen: boolean } | undefined;
  #connections = 0;
  #tail = "";

  constructor(clock: HandClock, log: (entry: Entry) => void) {
    this.#clock = clock;
    this.#log = log;
  }

  open(address: string): Link {
    const listeners = { line: (_: LinkLine): void => {}, closed: (_: LinkClosed): void => {}, isOpen: true };
    this.#link = listeners;
    this.#tail = "";
    return {
      address,
      connection: ++this.#connections,
      get isOpen() {
        return listeners.isOpen;
      },
      counters: { bytesWritten: 0, bytesRead: 0, junk: 0 },
      write: (text) => {
        this.#tail += text;
        const lines = this.#tail.split("\n");
        this.#tail = lines.pop() ?? "";
        for (const line of lines) this.#take(line, listeners);
      },
      onLine: (listener) => {
        listeners.line = listener;
      },
      onJunk: () => {},
      onClose: (listener) => {
        listeners.closed = listener;
      },
      divert: () => {},
      discardInput: () => {},
      close: async () => {
        if (!listeners.isOpen) return;
        listeners.isOpen = false;
        listeners.closed({ why: "asked", detail: "" });
      },
    };
  }

  /** The cable is pulled: the output stays as it is. */
  lose(): void {
    const link = this.#link;
    if (link?.isOpen !== true) return;
    link.isOpen = false;
    link.closed({ why: "hang-up", detail: "the cable was pulled" });
  }

  /** A hand at the output key. */
  press(channel: number, on: boolean): void {
    const at = this.channels.get(channel);
    if (at !== undefined) at.on = on;
  }

  #take(line: string, link: { line: (line: LinkLine) => void; isOpen: boolean }): void {
    const answers = line.split(";").flatMap((each) => this.#answer(each.trim().replace(/^:/, "")));
    if (answers.length === 0) return;
    this.#clock.after(LATENCY_MS + this.lateMs, () => {
      if (link.isOpen) link.line({ text: answers.join(";"), atMs: this.#clock.nowMs() });
    });
  }

  #answer(command: string): string[] {
    if (command === "*IDN?") return ["RIG,SUPPLY,1,0"];
    if (command === "*ESR?") return ["0"];
    const [, word = "", number = "", rest = ""] = /^([A-Z:]+)(\d)(.*)$/.exec(command) ?? [];
    const channel = Number(number);
    const at = this.channels.get(channel);
    if (at === undefined) return [];
    const value = rest.trim();
    if (word === "OUTP" && value !== "?") {
      at.on = value === "ON";
      this.#log({ what: at.on ? "on" : "off", channel, atMs: this.#clock.nowMs() });
      return [];
    }
    if (value !== "?") {
      at[word === "VOLT" ? "volts" : "amps"] = Number(value);
      return [];
    }
    if (word === "OUTP") return [at.on ? "1" : "0"];
    if (word === "VOLT" || word === "CURR") return [(word === "VOLT" ? at.volts : at.amps).toFixed(3)];
    if (word === "MEAS:VOLT") this.#log({ what: "measured", channel, atMs: this.#clock.nowMs() });
    const volts = at.on ? at.volts : 0;
    return [(word === "MEAS:VOLT" ? volts : volts / OHMS).toFixed(3)];
  }
}

/** The board behind each channel: a resistor that passes every look. */
const OHMS = 4000;

const setting = (volts: number, limitAmps: number, maxMs: number) => ({ volts, limitAmps, overVolts: 5, maxMs });

const feedOf = (feed: string, order: number, channel: number | null): PlanFeed => ({
  feed,
  order,
  supply: channel === null ? null : "psu",
  channel,
  nominalVolts: 3,
  tolerance: [-0.1, 0.1],
  limitAmps: 1,
  maxVolts: 5,
  leadOhms: 0.05,
  sense: "local",
  readsAtSense: false,
  stepVolts: 0.001,
  stepAmps: 0.001,
  offsetAmps: 0,
  hasOverVoltage: false,
  hasOverCurrent: false,
  supplyRiseMs: 1,
  readIntervalMs: LATENCY_MS,
  inputFaradsMax: 1e-6,
  coldOhms: 10_000,
  touch: setting(0.8, 0.1, 300),
  holdLow: null,
  nominal: setting(3, 0.5, 400),
  ladderAmps: [],
  twoLimitAmps: [0.05, 0.1],
  allowedLimitingMs: 200,
});

/** Feeds by wire have a channel; those by hand have none. Channel 3 is connected and in no plan. */
export const rigPlan = (feeds: readonly ("a" | "b" | "m" | "n")[], keepOn = false): Plan => ({
  version: 1,
  name: "first-power-up",
  feeds: feeds.map((feed, order) => feedOf(feed, order, feed === "a" ? 1 : feed === "b" ? 2 : null)),
  watch: { seconds: 0.2, slowestPeriodMs: 100 },
  maxOnMs: 20_000,
  keepOn,
  backFeedVolts: 0.3,
  residualVolts: 0.3,
  trips: {
    overPowerWatts: 100,
    creepSharePerMin: 0.05,
    creepAfterMs: 60_000,
    creepRatio: 1.5,
    staleMs: 500,
    shortOhms: 0.5,
    partialShortOhms: 100,
    doubtfulOhms: 1000,
    touchJoules: 0.1,
  },
  ladder: { attemptMs: 1000, offMs: 1000, raises: 0 },
});

/**
 * The bench process's own code, from its messages down to the bytes of each supply, with a supply in memory at the other
 * end and a clock set by hand. Every step of `step` is one await of the bench process that settles.
 */
export class WireRig {
  readonly clock = new HandClock();
  readonly log: Entry[] = [];
  readonly supply: RigSupply;
  readonly bench: Bench;
  readonly page = new RigPage((question, yes) => this.tell({ type: "answer", question, yes }));
  /** Milliseconds that the guardian takes to start, and to say that it is armed. */
  startMs = 0;
  armMs = 0;
  #nextId = 0;

  constructor() {
    const { clock } = this;
    this.supply = new RigSupply(clock, (entry) => this.log.push(entry));
    this.bench = new Bench({
      clock,
      openLink: async ({ address }) => this.supply.open(address),
      send: (message) => {
        if (message.type === "beat" || message.type === "idle") return;
        this.log.push({ what: "said", message, atMs: clock.nowMs() });
        this.page.post(message);
      },
      startGuardian: async () => {
        if (this.startMs > 0) await pause(clock, this.startMs);
        return {
          arm: () => pause(clock, this.armMs),
          disarm: () => {},
          isAlive: true,
          onLost: () => () => {},
          close: () => {},
        };
      },
      scheduling: "a test's",
      beatLimitMs: Number.POSITIVE_INFINITY,
    });
    this.bench.receive({ type: "hello", protocol: IPC_PROTOCOL, lease: 1, armDirectory: "/nowhere" } satisfies ToBench);
  }

  /** Everything that settles now has settled, and has come to the page; then the next timer runs. */
  async step(settled: () => void = () => {}): Promise<void> {
    await new Promise((resolve) => setImmediate(resolve));
    await this.page.deliver();
    settled();
    this.clock.step();
  }

  /** Lets time pass until `isSo`, at most `ms`; answers whether it came so. */
  async until(isSo: () => boolean, ms = 60_000): Promise<boolean> {
    const endMs = this.clock.nowMs() + ms;
    await new Promise((resolve) => setImmediate(resolve));
    while (!isSo()) {
      if (this.clock.nowMs() >= endMs) return false;
      await this.step();
      await new Promise((resolve) => setImmediate(resolve));
    }
    return true;
  }

  tell(body: Body): number {
    const id = ++this.#nextId;
    const needsLease = body.type !== "cut" && body.type !== "close";
    const message = {
      ...body,
      id,
      ...(needsLease ? { lease: 1, deadlineMs: this.clock.nowMs() + 60_000 } : {}),
    } as ToBench;
    this.log.push({ what: "told", message, atMs: this.clock.nowMs() });
    this.bench.receive(message);
    return id;
  }

  connect(): number {
    const feeds = {
      a: { supply: "psu", channel: 1 },
      b: { supply: "psu", channel: 2 },
      c: { supply: "psu", channel: 3 },
    };
    return this.tell({
      type: "connect",
      bench: {
        version: 1,
        instruments: { psu: { kind: "supply", address: "ASRL/dev/rig::INSTR", driver: "rig-supply", accuracy: {} } },
        feeds: Object.fromEntries(
          Object.entries(feeds).map(([feed, at]) => [
            feed,
            { ...at, leadOhms: 0.05, sense: "local", readsAtSense: false },
          ]),
        ),
      } as Extract<ToBench, { type: "connect" }>["bench"],
      drivers: [DRIVER],
      feeds: Object.keys(feeds),
    });
  }

  run(plan: Plan): number {
    const permit = { granted: true, items: [], refusedBecause: [] };
    return this.tell({ type: "run", record: "a record", plan, permit, confirmsRaises: true });
  }

  readonly channels = CHANNELS;

  get said(): FromBench[] {
    return this.log.flatMap((each) => (each.what === "said" ? [each.message] : []));
  }

  get questions(): Extract<FromBench, { type: "question" }>[] {
    return this.said.flatMap((each) => (each.type === "question" ? [each] : []));
  }

  get outcomes(): RunOutcome[] {
    return this.said.flatMap((each) => (each.type === "ended" ? [each.outcome] : []));
  }

  /** Channels that are on at the supply. */
  get on(): number[] {
    return [...this.supply.channels].flatMap(([channel, { on }]) => (on ? [channel] : []));
  }

  isAnswered(id: number): boolean {
    return this.said.some((each) => (each.type === "done" || each.type === "problem") && each.id === id);
  }
}

type Body = DistributiveOmit<
  Extract<ToBench, { type: "connect" | "run" | "answer" | "stop" | "cut" | "close" }>,
  "id" | "lease" | "deadlineMs"
>;
type DistributiveOmit<T, K extends PropertyKey> = T extends unknown ? Omit<T, K> : never;
