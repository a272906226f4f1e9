import type { Clock } from "../../shared/clock.ts";
import { type BenchFile, hostOfRecorder } from "../../shared/files/bench-file.ts";
import type { DriverFile, MeterDriver, OwnDrivers } from "../../shared/files/driver-file.ts";
import type { FoundFeed, FoundInstrument, MissingFeed } from "../../shared/ipc.ts";
import type { MeterReading } from "../../shared/meter-reading.ts";
import { voltsOf } from "../../shared/reading.ts";
import { messageOf } from "../../shared/words/message-of.ts";
import { connectInstrument, type Instrument, type OpenLink } from "../instrument/connect-instrument.ts";
import { findBuffer, findRecorder } from "../instrument/recorder/find-recorder.ts";
import type { Supply } from "../instrument/supply.ts";
import { loadForOpening } from "../link/open-link.ts";
import { MeterLane } from "./meter-lane.ts";
import type { FeedSource } from "./plan-runner-options.ts";
import { RecorderLane } from "./recorder-lane.ts";

/** Readings of a feed's trial: between so few and so many, within the time, milliseconds. */
const LEAST_INTERVALS = 3;
const MOST_INTERVALS = 20;
const TRIAL_MS = 150;

export interface ConnectOptions {
  bench: BenchFile;
  drivers: DriverFile[];
  ownDrivers?: OwnDrivers;
  /** Feeds to connect; channels and supplies that none of them names are left untouched. */
  feeds: readonly string[];
  /** Feeds that are not needed: a supply that has only such feeds need not answer. */
  mayMiss?: readonly string[];
  clock: Clock;
  openLink: OpenLink;
  cut: (supply: Supply, channel: number) => Promise<boolean>;
  /** True while no run is on. */
  isIdle: () => boolean;
  onMeterReadings: (readings: MeterReading[]) => void;
  onMeterProblem: (cause: unknown) => void;
  /** A recorder that does not answer: runs go on without it. */
  onRecorderProblem: (cause: unknown) => void;
}

export interface ConnectedBench {
  instruments: Map<string, Instrument>;
  /** Reads the meter, where there is one. */
  meter: MeterLane | undefined;
  /** Records runs, where there is one that answered. */
  recorder: RecorderLane | undefined;
  sources: Map<string, FeedSource>;
  foundInstruments: FoundInstrument[];
  foundFeeds: FoundFeed[];
  missing: MissingFeed[];
  close(): Promise<void>;
}

const rangesOf = ({ functions }: MeterDriver): NonNullable<FoundInstrument["functions"]> =>
  Object.fromEntries(Object.entries(functions).map(([name, words]) => [name, words?.ranges ?? []]));

/** The part that only a supply has. */
const NO_SUPPLY = {
  stepVolts: null,
  stepAmps: null,
  offsetAmps: null,
  riseMs: null,
  hasOverVoltage: false,
  hasOverCurrent: false,
  hasWatchdog: false,
};

const describe = (name: string, instrument: Instrument, ownDrivers: OwnDrivers): FoundInstrument => ({
  name,
  kind: instrument.kind,
  address: instrument.address,
  identity: instrument.identity.raw,
  serialNumber: instrument.identity.serialNumber,
  driver: instrument.driver.name,
  ...(Object.hasOwn(ownDrivers, instrument.driver.name)
    ? { driverFile: ownDrivers[instrument.driver.name] ?? "" }
    : {}),
  driverWhy: [...instrument.driverWhy],
  roundTrip: { ...instrument.roundTrip },
  accuracy: instrument.driver.accuracy ?? null,
  ...(instrument.kind === "supply" ? instrument.traits : { ...NO_SUPPLY, functions: rangesOf(instrument.driver) }),
});

/**
 * Opens and identifies the instruments a run needs, one after the other, and says what is on each channel. An output
 * found on is cut and reported; channels no feed names are not touched. Throws what the first failing instrument threw,
 * after closing those already open.
 */
export async function connectInstruments(options: ConnectOptions): Promise<ConnectedBench> {
  const { bench, clock, ownDrivers = {} } = options;
  const instruments = new Map<string, Instrument>();
  let meter: MeterLane | undefined;
  const close = async (): Promise<void> => {
    await meter?.restAndLeaveCold();
    await Promise.allSettled([...instruments.values()].map((each) => each.close()));
  };
  const { needed, others } = suppliesOf(options);
  const wanted = [...needed, ...(bench.meter === undefined ? [] : [bench.meter]), ...others];
  const missing: MissingFeed[] = [];
  const sources = new Map<string, FeedSource>();
  const found = new Map<string, FoundFeed>();
  try {
    // A load that came later, as for a recorder, would hold up the off of a supply that is found on.
    for (const { address } of Object.values(bench.instruments)) loadForOpening(address);
    for (const name of wanted) {
      const entry = bench.instruments[name];
      if (entry === undefined) continue;
      const { drivers, openLink } = options;
      const made = connectInstrument({ name, entry, drivers, ownDrivers, clock, openLink });
      const instrument = await (others.has(name) ? made.catch(messageOf) : made);
      if (typeof instrument === "string") {
        missing.push(...feedsOn(options, name).map(({ feed }) => ({ feed, supply: name, because: instrument })));
        continue;
      }
      instruments.set(name, instrument);
      if (instrument.kind === "meter") {
        const { isIdle, onMeterReadings: onReadings, onMeterProblem: onProblem } = options;
        meter = new MeterLane({ meter: instrument, clock, sources, isIdle, onReadings, onProblem });
        continue;
      }
      // Looked at before the next instrument is opened: one that fails must not keep an output found on from being cut.
      for (const { feed, channel } of feedsOn(options, name)) {
        sources.set(feed, { supply: instrument, channel });
        found.set(feed, await lookAtFeed({ feed, supply: instrument, channel, clock, cut: options.cut }));
      }
    }
    const foundFeeds = options.feeds.flatMap((feed) => found.get(feed) ?? []);
    const foundInstruments = [...instruments].map(([name, each]) => describe(name, each, ownDrivers));
    const seen = await recorderOf(options, instruments);
    if (seen === null)
      return { instruments, meter, recorder: undefined, sources, foundInstruments, foundFeeds, missing, close };
    const recorder = seen.lane;
    const closeAll = async (): Promise<void> => {
      recorder.close();
      await close();
    };
    foundInstruments.push(seen.found);
    return { instruments, meter, recorder, sources, foundInstruments, foundFeeds, missing, close: closeAll };
  } catch (cause) {
    await close();
    throw cause;
  }
}

/** The feeds to connect that this supply has, each with its channel. */
const feedsOn = ({ bench, feeds }: ConnectOptions, supply: string): { feed: string; channel: number }[] =>
  feeds.flatMap((feed) => {
    const source = bench.feeds[feed];
    if (source === undefined || "manual" in source || source.supply !== supply) return [];
    return [{ feed, channel: source.channel }];
  });

/** Supplies that some feed needs, and those that have only feeds which are not needed. */
function suppliesOf({ bench, feeds, mayMiss = [] }: ConnectOptions): { needed: Set<string>; others: Set<string> } {
  const supplies = (of: readonly string[]): string[] =>
    of.flatMap((feed) => {
      const source = bench.feeds[feed];
      return source === undefined || "manual" in source ? [] : [source.supply];
    });
  const needed = new Set(supplies(feeds.filter((feed) => !mayMiss.includes(feed))));
  return { needed, others: new Set(supplies(feeds).filter((name) => !needed.has(name) && name !== bench.meter)) };
}

/** The bench file's recorder, looked for behind everything that matters; null where it has none or it does not answer. */
async function recorderOf(
  options: ConnectOptions,
  instruments: ReadonlyMap<string, Instrument>,
): Promise<{ lane: RecorderLane; found: FoundInstrument } | null> {
  const { bench, drivers, ownDrivers = {}, clock, openLink } = options;
  const [name, entry] = Object.entries(bench.instruments).find(([, each]) => each.kind === "recorder") ?? [];
  if (name === undefined || entry === undefined) return null;
  const place = hostOfRecorder(bench.instruments, name);
  const host = place === null ? null : instruments.get(place);
  // The instrument that it is the buffer of is not used this time.
  if (host === undefined) return null;
  try {
    const { recorder, why, ...found } =
      host === null
        ? await findRecorder({ name, entry, drivers, ownDrivers, clock, openLink })
        : await findBuffer({ name, entry, host, drivers, ownDrivers, clock });
    return {
      lane: new RecorderLane(recorder, clock),
      found: { name, kind: "recorder", ...found, driverWhy: why, accuracy: null, ...NO_SUPPLY },
    };
  } catch (cause) {
    options.onRecorderProblem(cause);
    return null;
  }
}

async function lookAtFeed(options: {
  feed: string;
  supply: Supply;
  channel: number;
  clock: Clock;
  cut: (supply: Supply, channel: number) => Promise<boolean>;
}): Promise<FoundFeed> {
  const { feed, supply, channel, clock } = options;
  let output: FoundFeed["output"] = await supply.outputState(channel);
  const cutByUs = output === "on";
  if (cutByUs) output = (await options.cut(supply, channel)) ? "off" : "unknown";
  if (output === "unknown") {
    // Whatever else it would be asked: that it may be on is what must be told.
    const nothing = { volts: null, maxVolts: null, maxAmps: null, readIntervalMs: 0 };
    return { feed, supply: supply.name, channel, output, cutByUs, ...nothing };
  }
  const ratings = await supply.ratings(channel);
  // One answer that is lost is asked for again: a trial must not make an instrument harder to connect.
  const read = () => supply.read(channel).catch(() => supply.read(channel));
  let reading = await read();
  const intervals: number[] = [];
  // The trial of the line: enough questions for its slow answers to show, and no longer than a person notices.
  const untilMs = clock.nowMs() + TRIAL_MS;
  while (intervals.length < LEAST_INTERVALS || (intervals.length < MOST_INTERVALS && clock.nowMs() < untilMs)) {
    const next = await read();
    intervals.push(next.atMs - reading.atMs);
    reading = next;
  }
  intervals.sort((a, b) => a - b);
  return {
    feed,
    supply: supply.name,
    channel,
    output,
    cutByUs,
    volts: voltsOf({ ...reading, feed }) ?? null,
    maxVolts: ratings.maxVolts,
    maxAmps: ratings.maxAmps,
    readIntervalMs: intervals[intervals.length >> 1] ?? 0,
  };
}
