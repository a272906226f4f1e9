import type { BoardFile } from "../../shared/files/board-file.ts";
import { Recording } from "../../shared/files/recorder-entry.ts";
import type { ScenarioFile } from "../../shared/files/scenario-file.ts";

/** Rails beside the feed's own amps and volts: a recorder has four channels. */
const RAILS = 2;
/** Full scale of a channel on a rail of so many volts, and of a current probe of 0.1 V for an amp. */
const ROOM = 1.6;
const AMPS_RANGE_VOLTS = 2;

/** The channels of a simulated recorder where nobody names them: amps and volts of the last feed, and the first rails behind it. */
export function usualRecord({ feeds }: ScenarioFile, board: BoardFile | null): Recording {
  const [feed = "", { nominalVolts = 12 } = {}] = Object.entries(feeds).at(-1) ?? [];
  const rails = railsBehind(board).slice(0, RAILS);
  const volts = (point: string, nominal: number) => ({ point, reads: "volts", rangeVolts: 2 * ROOM * nominal });
  return Recording.parse({
    channels: {
      1: { point: feed, reads: "amps", voltsPerAmp: 0.1, rangeVolts: AMPS_RANGE_VOLTS, accuracyShare: 0.02 },
      2: volts(feed, nominalVolts),
      ...Object.fromEntries(rails.map(([name, rail], index) => [index + 3, volts(name, rail.volts)])),
    },
  });
}

/** Rails with a converter of their own. */
const railsBehind = (board: BoardFile | null): [name: string, rail: BoardFile["rails"][string]][] =>
  Object.entries(board?.rails ?? {}).filter(
    ([, { signal, needs }]) => signal !== true && !needs.every((need) => need.startsWith("feed:")),
  );

/** What a simulated buffer records where nobody says it: amps and volts of the supply's last feed, or the volts of the first rail with a converter. */
export function usualBuffer(inside: "supply" | "meter", { feeds }: ScenarioFile, board: BoardFile | null): Recording {
  const names = Object.keys(feeds);
  const [feed = "", output] = [names.at(-1), names.length];
  if (inside === "supply")
    return Recording.parse({
      channels: { 1: { point: feed, reads: "amps", output }, 2: { point: feed, reads: "volts", output } },
    });
  const [point = feed] = railsBehind(board)[0] ?? [];
  return Recording.parse({ channels: { 1: { point, reads: "volts" } } });
}
