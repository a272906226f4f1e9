import { BenchError } from "../../shared/bench-error.ts";
import type { Clock } from "../../shared/clock.ts";
import type { InstrumentEntry, SerialSettings } from "../../shared/files/bench-file.ts";
import type { DriverFile, OwnDrivers } from "../../shared/files/driver-file.ts";
import type { Link } from "../link/link.ts";
import type { Identity } from "../scpi/identity.ts";
import { askAgain } from "./ask-again.ts";
import { findCapabilities } from "./capabilities.ts";
import { drainErrors } from "./error-queue.ts";
import type { SessionWire } from "./exchange.ts";
import type { Meter } from "./meter.ts";
import { notUnderstoodMs } from "./not-understood.ts";
import { driverNamed, pickDriver } from "./pick-driver.ts";
import { ScpiMeter } from "./scpi-meter.ts";
import { ScpiSupply } from "./scpi-supply.ts";
import { InstrumentSession } from "./session.ts";
import { rememberSession } from "./session-behind.ts";
import { Speech } from "./speech.ts";
import type { Supply } from "./supply.ts";

export type Instrument = Supply | Meter;

/** Opens a link; handed in, so that this folder opens nothing by itself. */
export type OpenLink = (options: {
  address: string;
  serial?: SerialSettings;
  clock: Clock;
  deadlineMs?: number;
  isRaw?: boolean;
}) => Promise<Link>;

export interface ConnectInstrumentOptions {
  /** Its name in the bench file. */
  name: string;
  entry: InstrumentEntry;
  drivers: readonly DriverFile[];
  /** Drivers that only the instruments which name them may use. */
  ownDrivers?: OwnDrivers;
  clock: Clock;
  openLink: OpenLink;
}

/** An instrument that may reset when its port opens needs this long to answer (common practice, no source). */
const IDENTIFY_WITHIN_MS = 3000;
const CONNECT_WITHIN_MS = 3000;
/** A device of this machine opens at once; what takes it seconds is a busy machine, not a wrong address. */
const OPEN_WITHIN_MS = 10_000;
const QUIET_MS = 200;

const isSerial = (address: string): boolean => /^ASRL/i.test(address);
const isSocket = (address: string): boolean => /^TCPIP/i.test(address);

/** An instrument that was opened and identified, with its driver. */
export interface IdentifiedInstrument {
  session: InstrumentSession;
  serial: SerialSettings;
  silentMs: number;
  driver: DriverFile;
  why: string[];
}

/** The first half of `connectInstrument`, for any kind: opened, identified, its driver found. Throws as it does. */
export async function identifyInstrument(options: ConnectInstrumentOptions): Promise<IdentifiedInstrument> {
  const { entry } = options;
  const forAll = options.drivers.filter((each) => !Object.hasOwn(options.ownDrivers ?? {}, each.name));
  const named = entry.driver === "auto" ? undefined : driverNamed(entry.driver, entry.kind, options.drivers);
  const serial: SerialSettings = { ...named?.wire.serial, ...entry.serial };
  const session = await openSession({ ...options, serial });
  try {
    const identity = await identifyOn(session, terminatorsFor(named, forAll));
    mustBePinned(identity, entry, session);
    const silentMs = notUnderstoodMs(session);
    const drivers = entry.driver === "auto" ? forAll : options.drivers;
    const picked = await pickDriver({ session, identity, drivers, kind: entry.kind, wanted: entry.driver, silentMs });
    session.useWire(wireOf(picked.driver));
    return { session, serial, silentMs, ...picked };
  } catch (cause) {
    await session.close();
    throw cause;
  }
}

/**
 * Opens one instrument, identifies it, finds its driver and what it can do. Energises nothing and changes no setting.
 * Throws what opening threw, BenchError "no-reply", "bad-reply", "wrong-identity" (another serial number than the one
 * pinned), "unknown-driver", "two-drivers"; the link is closed then.
 */
export async function connectInstrument(options: ConnectInstrumentOptions): Promise<Instrument> {
  const { name, entry } = options;
  const { session, serial, silentMs, driver, why } = await identifyInstrument(options);
  try {
    if (driver.kind === "recorder") throw new RangeError("a recorder is not connected, only identified");
    const remote = await takeOver(session, driver);
    const common = { session, serial, driverWhy: why };
    if (driver.kind === "meter") {
      const made = new ScpiMeter({ ...common, driver, accuracy: entry.accuracy, isRemote: remote !== undefined });
      return rememberSession(made, session);
    }
    const speech = new Speech(driver, name);
    const units = { volts: driver.wire.units.volts, amps: driver.wire.units.amps };
    const capabilities = await findCapabilities({ session, speech, driver, silentMs, units });
    session.measureAnew();
    const accuracy = { ...driver.accuracy, ...entry.accuracy };
    const made = new ScpiSupply({ ...common, driver, speech, capabilities, accuracy, remote, clock: options.clock });
    return rememberSession(made, session);
  } catch (cause) {
    await session.close();
    throw cause;
  }
}

/** The driver's terminator, or each that some driver uses, the commonest first. */
function terminatorsFor(named: DriverFile | undefined, drivers: readonly DriverFile[]): string[] {
  return named === undefined
    ? [...new Set(["\n", ...drivers.map((each) => each.wire.terminator)])]
    : [named.wire.terminator];
}

function wireOf(driver: DriverFile): Partial<SessionWire> {
  const { terminator, gapMs, echo, replyMs } = driver.wire;
  return { terminator, gapMs, echo, replyMs };
}

async function openSession(options: ConnectInstrumentOptions & { serial: SerialSettings }): Promise<InstrumentSession> {
  const { name, entry, clock } = options;
  const open = async (deadlineMs: number): Promise<Link> => {
    try {
      return await options.openLink({ address: entry.address, serial: options.serial, clock, deadlineMs });
    } catch (cause) {
      if (!(cause instanceof BenchError)) throw cause;
      throw new BenchError(cause.code, `Cannot open ${entry.kind} "${name}": ${cause.message}`, {
        instrument: name,
        detail: cause.detail,
        cause,
      });
    }
  };
  const openMs = isSocket(entry.address) ? CONNECT_WITHIN_MS : OPEN_WITHIN_MS;
  return new InstrumentSession({
    name,
    link: await open(openMs),
    clock,
    reopen: open,
    freshFence: isSocket(entry.address),
  });
}

/** Identifies over a link that may have old output waiting (serial) or may not (a fresh socket), by each line end in turn. */
export async function identifyOn(session: InstrumentSession, terminators: readonly string[]): Promise<Identity> {
  if (isSerial(session.address)) await session.settle(QUIET_MS);
  const withinMs = Math.max(1000, IDENTIFY_WITHIN_MS / terminators.length);
  for (const terminator of terminators.slice(0, -1)) {
    session.useWire({ terminator });
    try {
      return await session.identify({ twice: !isSocket(session.address), withinMs });
    } catch (cause) {
      if (!(cause instanceof BenchError)) throw cause;
    }
  }
  session.useWire({ terminator: terminators.at(-1) ?? "\n" });
  return await session.identify({ twice: !isSocket(session.address), withinMs });
}

function mustBePinned(identity: Identity, entry: InstrumentEntry, session: InstrumentSession): void {
  if (entry.serialNumber === undefined || entry.serialNumber === identity.serialNumber) return;
  throw new BenchError(
    "wrong-identity",
    `Cannot use ${entry.kind} "${session.name}": an instrument with serial number ${JSON.stringify(identity.serialNumber)} answers at ${session.address} (${JSON.stringify(identity.raw)}); the bench file requires "${entry.serialNumber}"; nothing was set`,
    { instrument: session.name },
  );
}

/** Makes the instrument listen, empties its error queue and its power-on bit; answers with the remote command said. */
async function takeOver(session: InstrumentSession, driver: DriverFile): Promise<string | undefined> {
  const { remote, clear } = driver.wire;
  const saysRemote = remote !== undefined && (remote.on === "always" || isSerial(session.address));
  return await askAgain(session, async (turn) => {
    if (saysRemote) await turn.send(remote.command);
    if (clear !== undefined) await turn.send(clear);
    await drainErrors(turn, { name: session.name, askError: driver.askError });
    return saysRemote ? remote.command : undefined;
  });
}
