import type { BenchFile } from "../../../shared/files/bench-file.ts";
import type { DriverFile } from "../../../shared/files/driver-file.ts";
import { messageOf } from "../../../shared/words/message-of.ts";
import { connectInstrument } from "../../instrument/connect-instrument.ts";
import { proveWatchdog, type WatchdogProof } from "../../instrument/prove-watchdog.ts";
import { openLink } from "../../link/open-link.ts";
import { realClock } from "../../system/real-clock.ts";
import { say } from "../text/people.ts";

export interface NamedProof extends WatchdogProof {
  supply: string;
  channel: number;
}

/** Tries the watchdog of each supply of a bench on the first channel that a feed names, one after the other. Never throws. */
export async function proveWatchdogs(bench: BenchFile, drivers: DriverFile[]): Promise<NamedProof[]> {
  const channels = new Map<string, number>();
  for (const feed of Object.values(bench.feeds))
    if (!("manual" in feed) && !channels.has(feed.supply)) channels.set(feed.supply, feed.channel);
  const proofs: NamedProof[] = [];
  for (const [name, channel] of channels) {
    say(`testing the watchdog of ${name}: channel ${channel} on at 0 V, then nothing is sent for 3 s …`);
    proofs.push({ supply: name, channel, ...(await proveOne(name, channel, bench, drivers)) });
  }
  return proofs;
}

async function proveOne(
  name: string,
  channel: number,
  bench: BenchFile,
  drivers: DriverFile[],
): Promise<WatchdogProof> {
  const entry = bench.instruments[name];
  if (entry === undefined)
    return { result: "failed", output: "off", detail: "the bench file has no instrument of this name" };
  try {
    const supply = await connectInstrument({ name, entry, drivers, clock: realClock, openLink });
    if (supply.kind !== "supply") return { result: "failed", output: "off", detail: "it is not a supply" };
    const cut = (): void => supply.cut([channel]);
    // The trial goes on to its end, which proves the off.
    for (const signal of ["SIGINT", "SIGTERM", "SIGHUP"] as const) process.on(signal, cut);
    try {
      return await proveWatchdog(supply, channel, realClock);
    } finally {
      for (const signal of ["SIGINT", "SIGTERM", "SIGHUP"] as const) process.off(signal, cut);
      await supply.close();
    }
  } catch (cause) {
    // Not connected, so that nothing was switched on.
    return { result: "failed", output: "off", detail: messageOf(cause) };
  }
}
