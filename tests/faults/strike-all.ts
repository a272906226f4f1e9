import { describe, expect, test } from "vitest";
import { benchFaults } from "./bench-faults.ts";
import type { Transport } from "./fault-bench.ts";
import { keepMeasured } from "./fault-report.ts";
import type { FaultRow, Moment, Must } from "./fault-row.ts";
import { missed, type Strike, strike } from "./strike.ts";
import { wireFaults } from "./wire-faults.ts";

/** Seeds in full; without one, a short form: one moment of each fault, not the same on both transports. */
const SEEDS = Number(process.env["FIRSTAMP_FAULT_SEEDS"] ?? 0);

function strikes(row: FaultRow, index: number, transport: Transport): { moment: Moment; seed: number }[] {
  if (SEEDS > 0)
    return row.moments.flatMap((moment) => Array.from({ length: SEEDS }, (_, seed) => ({ moment, seed: seed + 1 })));
  const place = index + (transport === "pty" ? 2 : 0);
  return [{ moment: row.moments[place % row.moments.length] as Moment, seed: 1 }];
}

/** Every fault of the catalogue that this transport can have, with the four properties checked by the simulator's history. */
export function strikeAll(transport: Transport, faults: readonly FaultRow[] = [...wireFaults, ...benchFaults]): void {
  describe(`over ${transport}`, () => {
    const rows = faults.filter((row) => row.transports?.includes(transport) ?? true);
    test.each(rows.map((row, index) => ({ name: `${row.row}: ${row.fault}`, row, index })))(
      "$name",
      async ({ row, index }) => {
        const done: Strike[] = [];
        for (const { moment, seed } of strikes(row, index, transport))
          done.push(await strike(row, moment, transport, seed));
        const [first] = done;
        const offs = done.filter((each) => each.wasOn && each.must.must !== "be-safe" && each.must.must !== "survive");
        keepMeasured({
          row: row.row,
          fault: row.fault,
          transport,
          injections: done.length,
          worstOffMs: offs.some((each) => each.offAfterMs !== null)
            ? Math.max(...offs.map((each) => each.offAfterMs ?? 0))
            : null,
          limit: first === undefined ? "" : limitsInWords(done.map((each) => each.must)),
          wrongValues: done.reduce((sum, each) => sum + each.wrongValues.length, 0),
          unasked: done.reduce((sum, each) => sum + each.unasked.length, 0),
          clock: "hand-set",
        });
        expect(done.flatMap(missed)).toEqual([]);
      },
    );
  });
}

function limitsInWords(all: readonly Must[]): string {
  return [...new Set(all.map(limitInWords))].join("; ");
}

function limitInWords(must: Must): string {
  switch (must.must) {
    case "off":
      return `off within ${must.withinMs} ms`;
    case "survive":
      return "goes on";
    case "refuse":
      return "refused, nothing on";
    case "alarm":
      return `alarm within ${must.withinMs} ms${must.offWithinMs === undefined ? "" : `, off within ${must.offWithinMs} ms`}`;
    case "be-safe":
      return "goes on or goes off";
  }
}
