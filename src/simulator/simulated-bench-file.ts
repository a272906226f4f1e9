import type { BenchFile, InstrumentEntry } from "../../shared/files/bench-file.ts";
import type { Recording } from "../../shared/files/recorder-entry.ts";
import type { ScenarioFile } from "../../shared/files/scenario-file.ts";
import type { SimulatedInstrument } from "./misbehave-controls.ts";
import type { FullSupplyTraits } from "./supply-defaults.ts";

export interface SimulatedBench {
  instruments: readonly SimulatedInstrument[];
  /** Instrument name to VISA resource name. */
  addresses: ReadonlyMap<string, string>;
  scenario: ScenarioFile;
  traits: FullSupplyTraits;
  /** The meter's scanner: channel number to point. */
  scanner: Readonly<Record<string, string>>;
  /** The settings of its recorder, and the instrument whose buffer that is where it is one; left out where it has none. */
  recorder: { record: Recording; inside?: "supply" | "meter" } | undefined;
}

/** The bench file that names a simulation's instruments and the feeds its board has. */
export function simulatedBenchFile({
  instruments,
  addresses,
  scenario,
  traits,
  scanner,
  recorder,
}: SimulatedBench): BenchFile {
  const entries: Record<string, InstrumentEntry> = {};
  const feeds: BenchFile["feeds"] = {};
  const accuracy = {
    voltsShare: 0.001,
    voltsOffset: 3 * traits.stepVolts,
    ampsShare: 0.002,
    ampsOffset: 2 * traits.stepAmps,
  };
  const channels = Object.fromEntries(Object.entries(scanner).map(([channel, point]) => [point, Number(channel)]));
  for (const { name, kind, feeds: names } of instruments) {
    entries[name] = {
      kind,
      address: addresses.get(name) ?? "",
      driver: "auto",
      ...(kind === "recorder" && recorder !== undefined ? { record: recorder.record } : {}),
      ...(kind === "supply"
        ? { accuracy }
        : kind === "meter" && Object.keys(channels).length > 0
          ? { scanner: channels }
          : {}),
    };
    names.forEach((feed, index) => {
      const spec = scenario.feeds[feed];
      if (spec === undefined) return;
      feeds[feed] = { supply: name, channel: index + 1, leadOhms: spec.leadOhms, sense: "local", readsAtSense: false };
    });
  }
  const host = instruments.find(({ kind }) => kind === recorder?.inside);
  if (host !== undefined && recorder !== undefined)
    entries["buffer"] = {
      kind: "recorder",
      address: addresses.get(host.name) ?? "",
      driver: "auto",
      record: recorder.record,
    };
  return { version: 1, instruments: entries, feeds, meter: "dmm", simulated: true };
}
