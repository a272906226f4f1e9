import { BenchError } from "../../../shared/bench-error.ts";
import type { Clock } from "../../../shared/clock.ts";
import type { InstrumentEntry } from "../../../shared/files/bench-file.ts";
import type { DriverFile, OwnDrivers, RecorderDriver } from "../../../shared/files/driver-file.ts";
import { type ConnectInstrumentOptions, type Instrument, identifyInstrument } from "../connect-instrument.ts";
import { notUnderstoodMs } from "../not-understood.ts";
import { pickDriver } from "../pick-driver.ts";
import type { RoundTripFigures } from "../round-trips.ts";
import { sessionBehind } from "../session-behind.ts";
import { ownConversation, sharedConversation } from "./conversation.ts";
import { Recorder } from "./recorder.ts";

/** A recorder that answered, and what is filed of it. */
export interface FoundRecorder {
  recorder: Recorder;
  identity: string;
  serialNumber: string | null;
  address: string;
  driver: string;
  why: string[];
  roundTrip: RoundTripFigures;
}

/** Identifies a recorder and closes the link again. Throws what `connectInstrument` throws. */
export async function findRecorder(options: ConnectInstrumentOptions): Promise<FoundRecorder> {
  const { name, entry, clock, openLink } = options;
  const drivers = driversFor(options.drivers, undefined);
  const { session, driver, serial, why } = await identifyInstrument({ ...options, drivers });
  const { identity, address, roundTrip } = session;
  await session.close();
  if (driver.kind !== "recorder" || entry.record === undefined || identity === undefined)
    throw new RangeError("the identified instrument is not a recorder");
  const conversation = ownConversation({ name, address, serial, driver, clock, openLink });
  return {
    recorder: new Recorder({ name, identity: identity.raw, driver, record: entry.record, clock, conversation }),
    identity: identity.raw,
    serialNumber: identity.serialNumber,
    address,
    driver: driver.name,
    why,
    roundTrip: { ...roundTrip },
  };
}

/**
 * The buffer of a supply or a meter that is connected: its driver is looked for on that instrument's own session, by questions that change nothing.
 * Throws BenchError "unknown-driver", "two-drivers", or what the session throws.
 */
export async function findBuffer(options: {
  name: string;
  entry: InstrumentEntry;
  host: Instrument;
  drivers: readonly DriverFile[];
  ownDrivers: OwnDrivers;
  clock: Clock;
}): Promise<FoundRecorder> {
  const { name, entry, host, ownDrivers, clock } = options;
  const session = sessionBehind(host);
  const silentMs = notUnderstoodMs(session);
  const known = options.drivers.filter((each) => entry.driver !== "auto" || !Object.hasOwn(ownDrivers, each.name));
  const { driver, why } = await pickDriver({
    session,
    identity: host.identity,
    drivers: driversFor(known, host.kind),
    kind: "recorder",
    wanted: entry.driver,
    silentMs,
  });
  if (driver.kind !== "recorder" || entry.record === undefined)
    throw new BenchError("unknown-driver", `Cannot use driver "${driver.name}" for a recorder; nothing was sent`);
  const conversation = sharedConversation({ name, inside: host.kind, session, clock });
  const channel = Object.entries(entry.record.channels).map(([number, { output }]) => output ?? Number(number))[0] ?? 1;
  const readHost = async (): Promise<number> => {
    const fromMs = clock.nowMs();
    if (host.kind === "supply") await host.read(channel);
    return clock.nowMs() - fromMs;
  };
  const identity = host.identity.raw;
  return {
    recorder: new Recorder({ name, identity, driver, record: entry.record, clock, conversation, readHost }),
    identity,
    serialNumber: host.identity.serialNumber,
    address: host.address,
    driver: driver.name,
    why,
    roundTrip: { ...host.roundTrip },
  };
}

/** Drivers of recorders of this place: inside a supply, inside a meter, or an instrument of its own; those of other kinds stay. */
const driversFor = (
  drivers: readonly DriverFile[],
  inside: RecorderDriver["recorder"]["inside"],
): readonly DriverFile[] => drivers.filter((each) => each.kind !== "recorder" || each.recorder.inside === inside);
