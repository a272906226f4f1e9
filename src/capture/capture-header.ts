import { BenchError, quoted } from "../../shared/bench-error.ts";
import { CONSTANT_COLUMNS } from "./csv-capture.ts";

export interface CaptureHeader {
  /** Position of each column by our name; the first three are always there. */
  columns: ReadonlyMap<string, number>;
  /** Decimal places to move to get milliseconds, volts, amps. */
  timeShift: number;
  voltsShift: number;
  ampsShift: number;
}

const NEEDED = ["time", "volts", "amps"] as const;
const OPTIONAL = ["feed", "stage", "set_volts", "limit_amps", "mode", ...CONSTANT_COLUMNS];
const SHIFTS: Record<string, Record<string, number>> = {
  time: { s: 3, ms: 0, us: -3, µs: -3, ns: -6 },
  volts: { v: 0, mv: -3, µv: -6, uv: -6 },
  amps: { a: 0, ma: -3, µa: -6, ua: -6 },
};

const MOST_SAID = 20;

/** The columns there are, in words; of very many the first. */
function there(cells: readonly string[]): string {
  const said = cells.slice(0, MOST_SAID).map((cell) => quoted(cell.trim()));
  return [...said, ...(cells.length > MOST_SAID ? [`and ${cells.length - MOST_SAID} more`] : [])].join(", ");
}

/**
 * Finds the needed columns by name: `time_s`, `volts`, `amps`, or with a unit: `time_ms`, `volts (mV)`, `amps [mA]`. Extra
 * columns are ignored. Throws `bad-input` naming what is missing and what is there.
 */
export function captureHeaderOf(file: string, cells: readonly string[]): CaptureHeader {
  const columns = new Map<string, number>();
  const shifts: Record<string, number> = {};
  cells.forEach((cell, index) => {
    const text = cell.trim();
    const parts = /^(time|volts|amps)(?:[ _]*[([]?([a-zµμ]+)[)\]]?)?$/i.exec(text);
    const name = parts?.[1]?.toLowerCase();
    if (name !== undefined && !columns.has(name)) {
      const unit = (parts?.[2] ?? { time: "s", volts: "v", amps: "a" }[name] ?? "").toLowerCase().replace("μ", "µ");
      const shift = SHIFTS[name]?.[unit];
      if (shift === undefined) {
        throw new BenchError(
          "bad-input",
          `Cannot read capture ${quoted(file)}: line 1, column ${index + 1} is ${quoted(text)}; the unit of ${name} should be one of ${Object.keys(SHIFTS[name] ?? {}).join(", ")}`,
        );
      }
      columns.set(name, index);
      shifts[name] = shift;
    } else if (OPTIONAL.includes(text.toLowerCase()) && !columns.has(text.toLowerCase())) {
      columns.set(text.toLowerCase(), index);
    }
  });
  const missing = NEEDED.filter((name) => !columns.has(name));
  if (missing.length > 0) {
    const wanted = missing.map((name) => (name === "time" ? '"time_s"' : `"${name}"`)).join(" and ");
    throw new BenchError(
      "bad-input",
      `Cannot read capture ${quoted(file)}: line 1 has no column ${wanted}; it has ${there(cells)}; it should have time_s, volts and amps`,
    );
  }
  return {
    columns,
    timeShift: shifts["time"] ?? 3,
    voltsShift: shifts["volts"] ?? 0,
    ampsShift: shifts["amps"] ?? 0,
  };
}
