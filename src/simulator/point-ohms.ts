import type { BoardFile } from "../../shared/files/board-file.ts";
import type { ScenarioFile } from "../../shared/files/scenario-file.ts";

const GROUPED_OHMS = 620;

/**
 * Cold ohms of every point and pair of a simulated board, as a perfect meter would find them: what the scenario says,
 * else what its loads and faults come to, else the geometric middle of the board file's healthy span. Pairs that nothing
 * says anything of are four times their least healthy value, points of a group all the same.
 */
export function pointOhms(scenario: ScenarioFile, board: BoardFile | null): Record<string, number> {
  const ohms: Record<string, number> = {};
  for (const [name, rail] of Object.entries(board?.rails ?? {})) {
    if (rail.coldOhms !== undefined) ohms[name] = Math.sqrt(Math.max(0.01, rail.coldOhms[0]) * rail.coldOhms[1]);
    const fault = scenario.rails[name]?.fault;
    if (fault?.fault === "short") ohms[name] = fault.ohms;
  }
  for (const [name, feed] of Object.entries(scenario.feeds)) {
    let siemens = 1 / feed.leakOhms;
    for (const load of feed.loads) {
      if (load.load === "resistor") siemens += 1 / load.ohms;
      if (load.load === "shorted-high-side") siemens += 1 / (load.pathOhms + load.coreOhms);
    }
    ohms[name] = feed.open ? 5e6 : 1 / siemens;
    for (const [rail, entry] of Object.entries(board?.rails ?? {})) {
      const plane = entry.needs.length === 1 && entry.needs[0] === `feed:${name}`;
      if (plane && entry.volts === feed.nominalVolts) ohms[rail] = ohms[name] ?? feed.leakOhms;
    }
  }
  for (const point of Object.values(board?.groups ?? {}).flat()) ohms[point] = GROUPED_OHMS;
  for (const [pair, least] of Object.entries(board?.coldPairs ?? {})) ohms[pair] = least * 4;
  return { ...ohms, ...scenario.ohms };
}
