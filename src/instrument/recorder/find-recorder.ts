import { type ConnectInstrumentOptions, identifyInstrument } from "../connect-instrument.ts";
import type { RoundTripFigures } from "../round-trips.ts";
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
  const { session, driver, serial, why } = await identifyInstrument(options);
  const { identity, address, roundTrip } = session;
  await session.close();
  if (driver.kind !== "recorder" || entry.record === undefined || identity === undefined)
    throw new RangeError("the identified instrument is not a recorder");
  return {
    recorder: new Recorder({
      name,
      address,
      identity: identity.raw,
      driver,
      serial,
      record: entry.record,
      clock,
      openLink,
    }),
    identity: identity.raw,
    serialNumber: identity.serialNumber,
    address,
    driver: driver.name,
    why,
    roundTrip: { ...roundTrip },
  };
}
