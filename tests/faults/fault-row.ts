import type { SupplyTraits } from "../../shared/files/supply-traits.ts";
import type { Random } from "../../src/simulator/random.ts";
import type { FaultBench, FaultBenchOptions, Transport } from "./fault-bench.ts";

/** When a fault strikes: before a link is open, before a run, between two stages with nothing on, or while energised. */
export type Moment = "open" | "idle" | "clear" | "touch" | "rise" | "watch" | "holding";

export const ENERGISED: readonly Moment[] = ["touch", "rise", "watch", "holding"];

/** What must come of it, measured at the simulated instrument. */
export type Must =
  /** All outputs off within so many simulated milliseconds; where nothing is on, nothing comes on. */
  | { must: "off"; withinMs: number }
  /** The run goes on as if nothing had been, to its planned end. */
  | { must: "survive" }
  /** Nothing is energised: connecting or the run is refused. */
  | { must: "refuse" }
  /** Either of them; what counts is that no property is broken. */
  | { must: "be-safe" }
  /** The output cannot be switched off from here: said so by alarm and outcome, within so many milliseconds. */
  | { must: "alarm"; withinMs: number; offWithinMs?: number };

export interface FaultRow {
  /** Numbers of the catalogue; a letter tells variants apart. */
  row: string;
  fault: string;
  moments: readonly Moment[];
  transports?: readonly Transport[];
  traits?: SupplyTraits;
  scenario?: string;
  dialects?: readonly NonNullable<FaultBenchOptions["dialect"]>[];
  benchFile?: FaultBenchOptions["benchFile"];
  /** Strikes within so many milliseconds of its moment, in place of the moment's own spread. */
  spreadMs?: number;
  inject: (bench: FaultBench, random: Random, transport: Transport) => void | Promise<void>;
  expect: Must | ((moment: Moment, transport: Transport) => Must);
}

/** Numbers in a range, of a seeded source. */
export const between = (random: Random, least: number, most: number): number => least + (most - least) * random.next();
export const oneOf = <T>(random: Random, values: readonly T[]): T =>
  values[Math.floor(random.next() * values.length)] as T;
