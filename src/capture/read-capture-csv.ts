import type { FileHandle } from "node:fs/promises";
import { pipeline } from "node:stream/promises";
import { parse } from "csv-parse";
import { BenchError, quoted } from "../../shared/bench-error.ts";
import { type DrawTrace, UNNAMED_FEED } from "../../shared/draw-input.ts";
import type { Accuracy } from "../../shared/files/bench-file.ts";
import { StageName } from "../../shared/plan.ts";
import { messageOf } from "../../shared/words/message-of.ts";
import { openPlainFile } from "../system/read-plain-file.ts";
import { type CaptureHeader, captureHeaderOf } from "./capture-header.ts";
import { shiftedDecimal } from "./decimal-shift.ts";
import { TraceColumns, type TraceRow } from "./trace-columns.ts";

/** The words that instruments and spreadsheets write where there is no number. */
const NO_NUMBER = /^(|ol|-ol|\+ol|ovld|ovl|ofl|over|overload|overflow|nan|-nan|[+-]?inf(inity)?|-+|n\/?a)$/i;
const NUMBER = /^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i;
/** 9.9E37 and 9.91E37 are infinity and not-a-number of SCPI-1999 (vol. 1, 7.2.1.4–5). */
const NO_READING_FROM = 9e37;
/** Rows of a feed that are held; longer traces are thinned where they are level (about 25 MB a feed). */
const MOST_ROWS = 1 << 19;

/**
 * The traces of a capture file, one a feed, in the order the feeds first appear; a file without a `feed` column is one
 * trace of `UNNAMED_FEED`. The file is read as a stream; only the columns are held, at most half a million rows a feed:
 * level stretches of longer ones are thinned while they are read. Decimal commas are taken where the delimiter is `;`.
 * Overload markers and empty cells of volts and amps are "no reading". Throws `bad-input` with file, line, column, what is
 * there and what should be.
 */
export async function readCaptureCsv(file: string): Promise<DrawTrace[]> {
  const source = await openCapture(file);
  try {
    return await readFrom(source, file);
  } finally {
    await source.close();
  }
}

async function readFrom(source: FileHandle, file: string): Promise<DrawTrace[]> {
  const delimiter = await delimiterOf(source, file);
  const rows = new CaptureRows(file, delimiter);
  // Empty lines are kept, so that counting records counts lines; the parser's own count doubles the time.
  const parser = parse({ bom: true, delimiter, relax_column_count: true, trim: true, max_record_size: LONGEST_LINE });
  parser.on("readable", () => {
    for (let cells: string[] | null = parser.read(); cells !== null; cells = parser.read()) {
      try {
        rows.take(cells);
      } catch (cause) {
        parser.destroy(cause instanceof Error ? cause : new Error(String(cause)));
        return;
      }
    }
  });
  try {
    await pipeline(source.createReadStream({ start: 0, autoClose: false, highWaterMark: 1 << 18 }), parser);
  } catch (cause) {
    if (cause instanceof BenchError) throw cause;
    throw new BenchError("bad-input", `Cannot read capture ${quoted(file)}: ${parserProblem(cause)}`, { cause });
  }
  return rows.traces();
}

/** The parser's complaint, in words: it says its own only for whom it knows. */
const parserProblem = (cause: unknown): string =>
  cause instanceof Error && "code" in cause && cause.code === "CSV_MAX_RECORD_SIZE"
    ? `a line is longer than ${LONGEST_LINE / 1e6} MB; a line should hold one reading`
    : messageOf(cause);

async function delimiterOf(source: FileHandle, file: string): Promise<string> {
  const { buffer, bytesRead } = await source.read(Buffer.alloc(4096), 0, 4096, 0);
  const [first = ""] = buffer
    .toString("utf8", 0, bytesRead)
    .replace(/^\uFEFF/, "")
    .trimStart()
    .split(/\r?\n|\r/);
  if (first === "")
    throw new BenchError(
      "bad-input",
      `Cannot read capture ${quoted(file)}: it is empty; it should begin with a line time_s,volts,amps`,
    );
  if (first.includes(";")) return ";";
  return first.includes("\t") && !first.includes(",") ? "\t" : ",";
}

async function openCapture(file: string): Promise<FileHandle> {
  try {
    return await openPlainFile(file);
  } catch (cause) {
    const code = cause instanceof Error && "code" in cause ? cause.code : undefined;
    const why = code === "ENOENT" ? "the file does not exist" : messageOf(cause);
    throw new BenchError("bad-input", `Cannot read capture ${quoted(file)}: ${why}`, { cause });
  }
}

/** A line is one reading, and no bench has more feeds: what goes beyond is no capture, and is not kept in memory. */
const LONGEST_LINE = 1_000_000;
const LONGEST_CELL = 64 * 1024;
const MOST_FEEDS = 64;

class CaptureRows {
  readonly #file: string;
  readonly #commas: boolean;
  readonly #feeds = new Map<string, TraceColumns>();
  #header: CaptureHeader | null = null;
  #width = 0;
  #line = 0;
  #lastMs = Number.NEGATIVE_INFINITY;
  #lastFeed: TraceColumns | null = null;

  constructor(file: string, delimiter: string) {
    this.#file = file;
    this.#commas = delimiter === ";";
  }

  take(cells: string[]): void {
    const line = ++this.#line;
    if (cells.some((cell) => cell.length > LONGEST_CELL))
      throw this.#bad(line, `has a cell of more than ${LONGEST_CELL / 1024} KiB; a cell should be a number or a name`);
    if (cells.length === 1 && cells[0] === "") return;
    if (this.#header === null) {
      this.#header = captureHeaderOf(this.#file, cells);
      this.#width = cells.length;
      return;
    }
    const { columns, timeShift, voltsShift, ampsShift } = this.#header;
    if (cells.length !== this.#width) {
      const hint =
        !this.#commas && cells.length > this.#width ? "; a file with decimal commas needs ; between the columns" : "";
      throw this.#bad(line, `has ${cells.length} columns; it should have ${this.#width}, like line 1${hint}`);
    }
    const text = (name: string): string => cells[columns.get(name) ?? -1] ?? "";
    const atMs = this.#number(text("time"), timeShift, line, "time");
    if (Number.isNaN(atMs)) throw this.#bad(line, `column time is ${quoted(text("time"))}; it should be a number`);
    if (atMs < this.#lastMs) {
      throw this.#bad(
        line,
        `column time goes back from ${this.#lastMs / 1000} s to ${atMs / 1000} s; time should never go back`,
      );
    }
    this.#lastMs = atMs;
    const row: TraceRow = {
      atMs,
      volts: this.#number(text("volts"), voltsShift, line, "volts"),
      amps: this.#number(text("amps"), ampsShift, line, "amps"),
    };
    if (columns.size > 3) this.#optional(row, text, line);
    const feed = this.#columnsOf(text("feed").replace(/^'(?=\s*[=+\-@])/, ""));
    if (feed.length === 0) this.#constants(feed, text, line);
    feed.push(row);
  }

  traces(): DrawTrace[] {
    if (this.#header === null)
      throw new BenchError(
        "bad-input",
        `Cannot read capture ${quoted(this.#file)}: it is empty; it should begin with a line time_s,volts,amps`,
      );
    if (this.#feeds.size === 0)
      throw new BenchError("bad-input", `Cannot read capture ${quoted(this.#file)}: it has a header but no reading`);
    return [...this.#feeds.values()].map((columns) => columns.trace());
  }

  #columnsOf(name: string): TraceColumns {
    const feed = name === "" ? UNNAMED_FEED : name;
    if (this.#lastFeed?.feed === feed) return this.#lastFeed;
    let columns = this.#feeds.get(feed);
    if (columns === undefined) {
      if (this.#feeds.size >= MOST_FEEDS)
        throw this.#bad(
          this.#line,
          `names feed ${quoted(feed)}; the file already has ${MOST_FEEDS} feeds, the most a capture may have`,
        );
      columns = new TraceColumns(feed, MOST_ROWS);
      this.#feeds.set(feed, columns);
    }
    this.#lastFeed = columns;
    return columns;
  }

  #optional(row: TraceRow, text: (name: string) => string, line: number): void {
    const [set, limit, stage, mode] = [text("set_volts"), text("limit_amps"), text("stage"), text("mode")];
    if (set !== "") row.setVolts = this.#number(set, 0, line, "set_volts");
    if (limit !== "") row.limitAmps = this.#number(limit, 0, line, "limit_amps");
    if (stage !== "") {
      const known = StageName.safeParse(stage.toLowerCase());
      if (!known.success)
        throw this.#bad(
          line,
          `column stage is ${quoted(stage)}; it should be one of ${StageName.options.join(", ")}, or empty`,
        );
      row.stage = known.data;
    }
    if (mode !== "") {
      const lower = mode.toLowerCase();
      if (lower !== "cv" && lower !== "cc" && lower !== "unknown") {
        throw this.#bad(line, `column mode is ${quoted(mode)}; it should be cv, cc, unknown, or empty`);
      }
      row.mode = lower;
    }
  }

  #constants(columns: TraceColumns, text: (name: string) => string, line: number): void {
    const figure = (name: string): number | null => {
      const cell = text(name);
      return cell === "" ? null : this.#number(cell, 0, line, name);
    };
    const shares: Accuracy = {};
    const [voltsShare, voltsOffset] = [figure("volts_share"), figure("volts_offset")];
    const [ampsShare, ampsOffset] = [figure("amps_share"), figure("amps_offset")];
    if (voltsShare !== null) shares.voltsShare = voltsShare;
    if (voltsOffset !== null) shares.voltsOffset = voltsOffset;
    if (ampsShare !== null) shares.ampsShare = ampsShare;
    if (ampsOffset !== null) shares.ampsOffset = ampsOffset;
    columns.constants = {
      together: !/^(no|false|0)$/i.test(text("together")),
      leadOhms: figure("lead_ohms"),
      stepVolts: figure("step_volts"),
      stepAmps: figure("step_amps"),
      accuracy: Object.keys(shares).length === 0 ? null : shares,
    };
  }

  /** NaN for a marker of no number; throws for any other text. */
  #number(cell: string, shift: number, line: number, column: string): number {
    const text = this.#commas ? cell.replace(",", ".") : cell;
    if (!NUMBER.test(text)) {
      if (NO_NUMBER.test(text)) return Number.NaN;
      throw this.#bad(line, `column ${column} is ${quoted(cell)}; it should be a number`);
    }
    // Written into the text, so that 0.0123 s is the double nearest 12.3 ms, which a product need not be.
    const value = Number(shift === 0 ? text : /e/i.test(text) ? shiftedDecimal(text, shift) : `${text}e${shift}`);
    return Math.abs(value) >= NO_READING_FROM ? Number.NaN : value;
  }

  #bad(line: number, what: string): BenchError {
    return new BenchError("bad-input", `Cannot read capture ${quoted(this.#file)}: line ${line} ${what}`, {
      detail: { line },
    });
  }
}
