import type { BenchFile } from "../../../shared/files/bench-file.ts";
import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { FoundFeed, FoundInstrument } from "../../../shared/ipc.ts";
import type { OutputState, WireBench } from "../../../shared/wire.ts";
import type { LastAnswers } from "./last-answers.ts";

/** The bench as the page shows it: what the file names, with what was found of it. */
export function wireBench(options: {
  bench: BenchFile | null;
  board: BoardFile | null;
  found: { instruments: FoundInstrument[]; feeds: FoundFeed[] };
  outputs: ReadonlyMap<string, OutputState>;
  /** Wall clock of each instrument's last answer, and which do not answer any more. */
  answers: LastAnswers;
  warnings: string[];
  simulated: boolean;
}): WireBench {
  const { bench, board, found, outputs, answers } = options;
  const unwatched = found.instruments.filter((each) => each.kind === "supply" && !each.hasWatchdog);
  return {
    simulated: options.simulated,
    warnings: [
      ...options.warnings,
      ...(bench === null ? ["No bench file was given: the record can be read, but nothing can be energised."] : []),
      ...unwatched
        .map((each) => `${each.name}: this supply stays on if the computer dies; keep its own switch within reach.`)
        .filter((text) => !options.warnings.some((other) => other.startsWith(text.split(":")[0] ?? text))),
    ],
    feeds: Object.entries(bench?.feeds ?? {}).map(([feed, entry]) => {
      const own = found.feeds.find((each) => each.feed === feed);
      const limits = board?.feeds[feed];
      const manual = "manual" in entry;
      return {
        feed,
        supply: manual ? null : entry.supply,
        channel: manual ? null : entry.channel,
        output: outputs.get(feed) ?? "unknown",
        nominalVolts: limits?.nominalVolts ?? null,
        maxVolts: limits?.maxVolts ?? own?.maxVolts ?? null,
        maxAmps: limits?.limitAmps ?? own?.maxAmps ?? null,
        sense: manual ? ("unknown" as const) : entry.sense,
        leadOhms: entry.leadOhms ?? null,
        readIntervalMs: Math.max(1, own?.readIntervalMs ?? 100),
        stepAmps: found.instruments.find((each) => each.name === own?.supply)?.stepAmps ?? null,
      };
    }),
    instruments: Object.entries(bench?.instruments ?? {}).map(([name, entry]) => {
      const own = found.instruments.find((each) => each.name === name);
      return {
        name,
        kind: entry.kind,
        address: entry.address,
        connected: own !== undefined,
        silent: answers.silent(name),
        lastAnswerAt: answers.lastAt(name),
        identity: own?.identity ?? null,
        serialNumber: own?.serialNumber ?? null,
        driver: own?.driver ?? null,
        watchdog:
          own === undefined || own.kind !== "supply"
            ? ("unknown" as const)
            : own.hasWatchdog
              ? ("has" as const)
              : ("none" as const),
        roundTripP99Ms: own?.roundTrip.p99Ms ?? null,
      };
    }),
  };
}
