import type { DrawTrace } from "../../shared/draw-input.ts";
import { shiftedDecimal } from "./decimal-shift.ts";
import { modeAt, stageAt } from "./trace-columns.ts";

/** The columns of a capture as a file. The first three are enough for a foreign one. */
export const CAPTURE_COLUMNS = ["time_s", "volts", "amps", "feed", "stage", "set_volts", "limit_amps", "mode"] as const;

/** A fact of a whole feed stands on its first row; the columns are there only where something is known. */
export const CONSTANT_COLUMNS = [
  "together",
  "lead_ohms",
  "step_volts",
  "step_amps",
  "volts_share",
  "volts_offset",
  "amps_share",
  "amps_offset",
] as const;

/**
 * A capture as CSV text (RFC 4180, CR LF) in parts of about a thousand rows, feeds interleaved by time. Every number is written so that reading
 * it back gives the same double: `readCaptureCsv` answers equal traces. No reading is an empty cell.
 */
export function* captureCsvParts(traces: readonly DrawTrace[]): Generator<string> {
  const constants = traces.some((trace) => constantCells(trace).some((cell) => cell !== ""));
  const header = constants ? [...CAPTURE_COLUMNS, ...CONSTANT_COLUMNS] : CAPTURE_COLUMNS;
  yield `${header.join(",")}\r\n`;
  const next = traces.map(() => 0);
  let rows: string[] = [];
  for (;;) {
    let which = -1;
    let earliest = Number.POSITIVE_INFINITY;
    traces.forEach((trace, index) => {
      const atMs = trace.atMs[next[index] ?? 0];
      if (atMs !== undefined && atMs < earliest) {
        earliest = atMs;
        which = index;
      }
    });
    const trace = traces[which];
    const row = next[which];
    if (trace === undefined || row === undefined) break;
    next[which] = row + 1;
    const cells = rowCells(trace, row);
    if (constants) cells.push(...(row === 0 ? constantCells(trace) : CONSTANT_COLUMNS.map(() => "")));
    rows.push(cells.join(","));
    if (rows.length === 1000) {
      yield `${rows.join("\r\n")}\r\n`;
      rows = [];
    }
  }
  if (rows.length > 0) yield `${rows.join("\r\n")}\r\n`;
}

function rowCells(trace: DrawTrace, row: number): string[] {
  return [
    shiftedDecimal(String(trace.atMs[row]), -3),
    number(trace.volts[row]),
    number(trace.amps[row]),
    quotedCell(trace.feed),
    stageAt(trace, row) ?? "",
    number(trace.setVolts?.[row]),
    number(trace.limitAmps?.[row]),
    modeAt(trace, row) ?? "",
  ];
}

function constantCells({ together, leadOhms, stepVolts, stepAmps, accuracy }: DrawTrace): string[] {
  const figures = [
    leadOhms,
    stepVolts,
    stepAmps,
    accuracy?.voltsShare,
    accuracy?.voltsOffset,
    accuracy?.ampsShare,
    accuracy?.ampsOffset,
  ];
  return [together ? "" : "no", ...figures.map((figure) => number(figure ?? undefined))];
}

function number(value: number | undefined): string {
  if (value === undefined || !Number.isFinite(value)) return "";
  // A reading just under zero comes as −0, which String() forgets.
  return Object.is(value, -0) ? "-0" : String(value);
}

/** Text that a spreadsheet would take for a formula gets an apostrophe in front. */
function quotedCell(text: string): string {
  const safe = /^\s*[=+\-@\t\r]/.test(text) ? `'${text}` : text;
  return /[",\r\n;]/.test(safe) ? `"${safe.replaceAll('"', '""')}"` : safe;
}
