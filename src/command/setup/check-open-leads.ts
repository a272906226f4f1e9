import type { Clock } from "../../../shared/clock.ts";
import { type BenchFile, hostOfRecorder } from "../../../shared/files/bench-file.ts";
import type { DriverFile, OwnDrivers } from "../../../shared/files/driver-file.ts";
import type { SetupFinding } from "../../../shared/files/setup.ts";
import { sayAmps, sayVolts } from "../../../shared/words/amounts.ts";
import { messageOf } from "../../../shared/words/message-of.ts";
import { connectInstrument, type OpenLink } from "../../instrument/connect-instrument.ts";
import { findRecorder } from "../../instrument/recorder/find-recorder.ts";
import type { Supply } from "../../instrument/supply.ts";
import { visibleLine } from "../../job/report/visible-text.ts";

/** The setting that is tried with the output off: 0 V and this limit, as in the test of a watchdog, amps. */
const TRIED_AMPS = 0.1;
/** More than this on an open lead is no residue of a meter (the plan's own limit for the check), volts. */
const RESIDUAL_VOLTS = 0.3;

export interface LeadCheckOptions {
  bench: BenchFile;
  drivers: DriverFile[];
  ownDrivers: OwnDrivers;
  clock: Clock;
  openLink: OpenLink;
}

/**
 * Checks a bench whose leads hang free: each instrument answers, each output of a feed is off, takes a setting of 0 V and at
 * most 0.1 A, says it back, and shows no volts. Nothing is switched on; an output found on is left alone and told. Ends with
 * every link closed. Never throws: what went wrong is a finding.
 */
export async function checkOpenLeads(options: LeadCheckOptions): Promise<SetupFinding[]> {
  const findings: SetupFinding[] = [];
  for (const name of Object.keys(options.bench.instruments)) findings.push(...(await checkInstrument(name, options)));
  return findings.map((each) => ({ ...each, says: visibleLine(each.says) }));
}

async function checkInstrument(name: string, options: LeadCheckOptions): Promise<SetupFinding[]> {
  const { bench, drivers, ownDrivers, clock, openLink } = options;
  const entry = bench.instruments[name];
  // The buffer of a supply or a meter is on that one's link, which is looked at by itself.
  if (entry === undefined || hostOfRecorder(bench.instruments, name) !== null) return [];
  try {
    if (entry.kind === "recorder") {
      const { identity } = await findRecorder({ name, entry, drivers, ownDrivers, clock, openLink });
      return [{ name, ok: true, says: `answers as ${identity}` }];
    }
    const instrument = await connectInstrument({ name, entry, drivers, ownDrivers, clock, openLink });
    try {
      const answers = { name, ok: true, says: `answers as ${instrument.identity.raw}` };
      if (instrument.kind === "meter") return [answers];
      const found: SetupFinding[] = [answers];
      for (const [feed, source] of Object.entries(bench.feeds)) {
        if ("manual" in source || source.supply !== name) continue;
        const label = `${feed} (${name}, channel ${source.channel})`;
        found.push({ name: label, ...(await checkChannel(instrument, source.channel)) });
      }
      return found;
    } finally {
      await instrument.close();
    }
  } catch (cause) {
    return [{ name, ok: false, says: messageOf(cause) }];
  }
}

async function checkChannel(supply: Supply, channel: number): Promise<Omit<SetupFinding, "name">> {
  try {
    if ((await supply.outputState(channel)) === "on")
      return {
        ok: false,
        says: "the output is on and was left on; switch it off at the supply, then check again",
      };
    const { maxAmps } = await supply.ratings(channel);
    const limitAmps = Math.min(TRIED_AMPS, maxAmps ?? TRIED_AMPS);
    await supply.configure(channel, { volts: 0, limitAmps });
    const { volts, amps } = await supply.read(channel);
    if ((await supply.outputState(channel)) !== "off")
      return { ok: false, says: "the output came on although nobody switched it on; switch it off at the supply" };
    if (volts.kind !== "value" || amps.kind !== "value")
      return { ok: false, says: "the output is off, but its volts or amps could not be read" };
    if (Math.abs(volts.volts) > RESIDUAL_VOLTS)
      return {
        ok: false,
        says: `the output is off, but ${sayVolts(volts.volts)} stand on it: something else feeds this lead`,
      };
    return {
      ok: true,
      says: `the output is off, 0 V and ${sayAmps(limitAmps)} were set and read back, ${sayVolts(volts.volts)} and ${sayAmps(amps.amps)} are read`,
    };
  } catch (cause) {
    return { ok: false, says: messageOf(cause) };
  }
}
