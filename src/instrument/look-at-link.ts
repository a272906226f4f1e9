import { BenchError } from "../../shared/bench-error.ts";
import type { Clock } from "../../shared/clock.ts";
import type { SerialSettings } from "../../shared/files/bench-file.ts";
import type { DriverFile } from "../../shared/files/driver-file.ts";
import { messageOf } from "../../shared/words/message-of.ts";
import type { Identity } from "../scpi/identity.ts";
import { identifyOn, type OpenLink } from "./connect-instrument.ts";
import { notUnderstoodMs } from "./not-understood.ts";
import { type PickedDriver, pickDriver } from "./pick-driver.ts";
import { InstrumentSession } from "./session.ts";

/** The findings at one address. */
export interface LookedAtLink {
  address: string;
  identity: Identity | null;
  kind: DriverFile["kind"] | null;
  driver: string | null;
  why: string[];
  /** Why nothing, or nothing known, answered; null when all is well. */
  problem: string | null;
}

export interface LookAtLinkOptions {
  address: string;
  drivers: readonly DriverFile[];
  clock: Clock;
  openLink: OpenLink;
  serial?: SerialSettings;
  /** The kind, if a bench file states it. Otherwise meters are tried first, because a meter might answer a supply's questions. */
  kind?: DriverFile["kind"];
}

/**
 * Opens an address, asks who is there and which driver fits, and closes it. Sends `*IDN?`, the drivers' probes and reads of
 * the error queue, nothing else. Never throws: what went wrong is the answer's `problem`.
 */
export async function lookAtLink(options: LookAtLinkOptions): Promise<LookedAtLink> {
  const { address, clock, serial } = options;
  const found: LookedAtLink = { address, identity: null, kind: null, driver: null, why: [], problem: null };
  const open = (deadlineMs: number) =>
    options.openLink({ address, clock, deadlineMs, ...(serial === undefined ? {} : { serial }) });
  let session: InstrumentSession | undefined;
  try {
    session = new InstrumentSession({
      name: address,
      link: await open(2000),
      clock,
      reopen: open,
      freshFence: /^TCPIP/i.test(address),
    });
    found.identity = await identifyOn(session, ["\n"]);
    const picked = await pickFor(session, found.identity, options);
    found.kind = picked.driver.kind;
    found.driver = picked.driver.name;
    found.why = picked.why;
  } catch (cause) {
    found.problem = messageOf(cause);
  } finally {
    await session?.close();
  }
  return found;
}

async function pickFor(
  session: InstrumentSession,
  identity: Identity,
  options: LookAtLinkOptions,
): Promise<PickedDriver> {
  const silentMs = notUnderstoodMs(session);
  const kinds: readonly DriverFile["kind"][] =
    options.kind === undefined ? ["meter", "supply", "recorder"] : [options.kind];
  const why: string[] = [];
  // Of an instrument of its own nobody asks what only a buffer inside another one has.
  const drivers = options.drivers.filter((each) => each.kind !== "recorder" || each.recorder.inside === undefined);
  for (const kind of kinds) {
    try {
      const picked = await pickDriver({ session, identity, drivers, kind, wanted: "auto", silentMs });
      return { driver: picked.driver, why: [...why, ...picked.why] };
    } catch (cause) {
      if (!(cause instanceof BenchError) || cause.code !== "unknown-driver") throw cause;
      const reasons = cause.detail["why"];
      if (Array.isArray(reasons)) why.push(...reasons.map(String));
    }
  }
  throw new BenchError(
    "unknown-driver",
    `No driver fits: ${why.join("; ")}; write one as described in docs/drivers.md`,
  );
}
