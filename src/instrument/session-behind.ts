import type { Instrument } from "./connect-instrument.ts";
import type { InstrumentSession } from "./session.ts";

const sessions = new WeakMap<Instrument, InstrumentSession>();

/** Remembers the session that an instrument speaks by, for what else is in the same case. */
export function rememberSession<Some extends Instrument>(instrument: Some, session: InstrumentSession): Some {
  sessions.set(instrument, session);
  return instrument;
}

/** The session that an instrument speaks by. Throws where it was connected by nobody. */
export function sessionBehind(instrument: Instrument): InstrumentSession {
  const session = sessions.get(instrument);
  if (session === undefined) throw new RangeError(`"${instrument.name}" was not connected`);
  return session;
}
