import type { Clock } from "../../shared/clock.ts";
import type { SessionWire } from "../../src/instrument/exchange.ts";
import { InstrumentSession } from "../../src/instrument/session.ts";
import type { Link } from "../../src/link/link.ts";
import { openLink } from "../../src/link/open-link.ts";
import { realClock } from "../../src/system/real-clock.ts";
import type { ScriptedPeer } from "./scripted-peer.ts";

/** An identified session with a scripted peer. */
export async function sessionWith(
  peer: ScriptedPeer,
  options: { wire?: Partial<SessionWire>; clock?: Clock; onOpen?: () => void } = {},
): Promise<InstrumentSession> {
  const { address } = peer;
  const clock = options.clock ?? realClock;
  const open = (deadlineMs: number): Promise<Link> => {
    options.onOpen?.();
    return openLink({ address, clock: realClock, deadlineMs });
  };
  const isSocket = address.startsWith("TCPIP");
  const session = new InstrumentSession({
    name: "psu",
    link: await open(2000),
    clock,
    reopen: open,
    freshFence: isSocket,
    ...(options.wire === undefined ? {} : { wire: options.wire }),
  });
  await session.identify({ twice: !isSocket, withinMs: 2000 });
  return session;
}
