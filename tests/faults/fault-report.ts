import { appendFileSync } from "node:fs";

/** One line of what a run of the fault bench measured; `tools/faults.mjs` makes the page of them. */
export interface Measured {
  row: string;
  fault: string;
  transport: string;
  injections: number;
  /** Worst of each, ms; null where none was on, or where off is not in this program's hands. */
  worstOffMs: number | null;
  p50Ms?: number;
  p99Ms?: number;
  limit: string;
  wrongValues: number;
  unasked: number;
  /** Simulated milliseconds, or real ones of real processes. */
  clock: "hand-set" | "real";
}

/** Adds a line to the file the environment names; without one, nothing is kept. */
export function keepMeasured(measured: Measured): void {
  const file = process.env["FIRSTAMP_FAULTS_OUT"];
  if (file !== undefined) appendFileSync(file, `${JSON.stringify(measured)}\n`);
}

/** Adds a table of figures that is no list of injections, under its name. */
export function keepTable(table: string, figures: unknown): void {
  const file = process.env["FIRSTAMP_FAULTS_OUT"];
  if (file !== undefined) appendFileSync(file, `${JSON.stringify({ table, figures })}\n`);
}

/** The value that this share of them does not exceed (nearest rank). */
export const quantile = (values: readonly number[], share: number): number => {
  const sorted = values.toSorted((a, b) => a - b);
  return sorted[Math.max(0, Math.ceil(share * sorted.length) - 1)] ?? Number.NaN;
};
