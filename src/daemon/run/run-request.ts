import type { FiledColdReadings } from "../../../shared/cold-evidence.ts";
import type { BenchFile } from "../../../shared/files/bench-file.ts";
import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { DriverFile, OwnDrivers } from "../../../shared/files/driver-file.ts";
import type { ColdReadings, RunConditions } from "../../../shared/permit.ts";
import type { InjectionWish } from "../../plan/compile/compile-injection.ts";
import type { LeadsWish } from "../../plan/compile/compile-leads.ts";
import type { MarginWish } from "../../plan/compile/margin-steps.ts";
import type { InjectionSide } from "../../plan/permit/permit-injection.ts";

/** A person's wishes for a power-up, read and checked; the same from the command line and from the page. */
export interface RunRequest {
  bench: BenchFile;
  drivers: DriverFile[];
  ownDrivers?: OwnDrivers;
  board: BoardFile | null;
  coldOhms: ColdReadings;
  /** Points of `coldOhms` that were read with four wires, or as volts at a known current; left out: none. */
  fourWire?: readonly string[];
  /** The temperature of the board when they were taken; null or left out: not known. */
  boardCelsius?: number | null;
  /** Cold readings of the job; those in `coldOhms` come before them. */
  filedCold?: FiledColdReadings;
  conditions: RunConditions;
  /** The age of each statement, milliseconds; not known where left out. */
  statedAgeMs?: Partial<Record<keyof RunConditions, number>>;
  /** `items` names the conditions waived; null waives every one that was not done, each listed. */
  waiver: { reason: string; items: string[] | null } | null;
  watchSeconds: number | null;
  keepOn: boolean;
  /** The work in place of a power-up, or after it; left out: a first power-up and no more. */
  task?: RunTask;
}

/** The kinds of run beside a first power-up. */
export type RunTask =
  /** The watch is as long as asked for, or the run is refused. */
  | { task: "soak" }
  | ({ task: "margin" } & MarginWish)
  /** The leads of one feed, their ends joined. */
  | ({ task: "leads" } & LeadsWish)
  | ({ task: "inject"; side: InjectionSide | null } & InjectionWish);
