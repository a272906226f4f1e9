import type { SimulatedInstrument } from "./misbehave-controls.ts";
import { servePty } from "./serve-pty.ts";
import { serveSocket } from "./serve-socket.ts";
import { openSocatPty, type SocatPty } from "./socat-pty.ts";
import type { ServedPort, ServeWire } from "./wire.ts";

export interface ServedInstruments {
  /** Instrument name to VISA resource name. */
  addresses: ReadonlyMap<string, string>;
  close(): Promise<void>;
}

/**
 * Puts each instrument on a socket of this machine or on a pseudo terminal of its own. Where one cannot be had, those
 * before it are closed and the error is thrown on.
 */
export async function serveInstruments(
  instruments: readonly SimulatedInstrument[],
  transport: "tcp" | "pty",
): Promise<ServedInstruments> {
  const addresses = new Map<string, string>();
  const ports: ServedPort[] = [];
  const pairs: SocatPty[] = [];
  const close = async (): Promise<void> => {
    for (const instrument of instruments) instrument.port.close();
    await Promise.all(ports.map((port) => port.close()));
    await Promise.all(pairs.map((pair) => pair.close()));
  };
  const served = async (serve: ServeWire): Promise<ServedPort> => {
    if (transport === "tcp") return serveSocket(serve);
    const pair = await openSocatPty();
    pairs.push(pair);
    return servePty(serve, pair);
  };
  try {
    for (const instrument of instruments) {
      const port = await served((wire) => instrument.port.serve(wire));
      ports.push(port);
      addresses.set(instrument.name, port.address);
    }
  } catch (cause) {
    await close();
    throw cause;
  }
  return { addresses, close };
}
