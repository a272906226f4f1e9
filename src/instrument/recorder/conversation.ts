import { BenchError } from "../../../shared/bench-error.ts";
import type { Clock } from "../../../shared/clock.ts";
import type { SerialSettings } from "../../../shared/files/bench-file.ts";
import type { RecorderDriver } from "../../../shared/files/driver-file.ts";
import type { Link } from "../../link/link.ts";
import type { OpenLink } from "../connect-instrument.ts";
import type { InstrumentSession } from "../session.ts";
import { RawTalk } from "./raw-talk.ts";

const OPEN_WITHIN_MS = 1000;
/** The longest silence within an answer: a record of a slow line still comes byte by byte. */
const IDLE_MS = 2000;

/** The way to speak to a recorder: each use has the wire to itself, from its beginning to its end. */
export interface Conversation {
  /** The kind of instrument that has the same wire; null: none has. */
  readonly inside: "supply" | "meter" | null;
  use<T>(work: (talk: RawTalk) => Promise<T>): Promise<T>;
  /** Ends the use under way: whoever waits for an answer gets an error. */
  abandon(): void;
}

/** A connection of its own for each use, closed before the use is answered. */
export function ownConversation(options: {
  name: string;
  address: string;
  serial: SerialSettings;
  driver: RecorderDriver;
  clock: Clock;
  openLink: OpenLink;
}): Conversation {
  const { name, address, serial, driver, clock, openLink } = options;
  let link: Link | null = null;
  return {
    inside: null,
    use: async (work) => {
      const opened = await openLink({ address, serial, clock, deadlineMs: OPEN_WITHIN_MS, isRaw: true });
      link = opened;
      try {
        const { terminator, gapMs } = driver.wire;
        return await work(new RawTalk({ name, link: opened, clock, terminator, gapMs, idleMs: IDLE_MS }));
      } finally {
        link = null;
        await opened.close();
      }
    },
    abandon: () => void link?.close(),
  };
}

/**
 * The connection of the supply or meter that the buffer is in, lent by its session: refused while an output of it may be on, ended by a cut. A
 * use that was abandoned before its turn came does not begin.
 */
export function sharedConversation(options: {
  name: string;
  inside: "supply" | "meter";
  session: InstrumentSession;
  clock: Clock;
}): Conversation {
  const { name, inside, session, clock } = options;
  let talk: RawTalk | null = null;
  let uses = 0;
  return {
    inside,
    use: (work) => {
      const use = ++uses;
      const { terminator, gapMs } = session.wire;
      return session.lend(async ({ link, onEnd }) => {
        if (use !== uses)
          throw new BenchError("link-closed", `Cannot use recorder "${name}": it was given up`, { instrument: name });
        talk = new RawTalk({ name, link, clock, terminator, gapMs, idleMs: IDLE_MS, onEnd });
        try {
          return await work(talk);
        } finally {
          talk = null;
        }
      });
    },
    abandon: () => {
      uses++;
      talk?.end("it was given up");
    },
  };
}
