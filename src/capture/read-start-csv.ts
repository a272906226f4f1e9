import { BenchError, quoted } from "../../shared/bench-error.ts";
import { openPlainFile } from "../system/read-plain-file.ts";
import { numberIn } from "./number-text.ts";

/** Columns of numbers on one time. */
export interface ColumnTrace {
  atMs: Float64Array;
  columns: ReadonlyMap<string, Float64Array>;
  /** Columns of the file that bear no name that was asked for. */
  ignored: string[];
}

/** A longer trace is refused: with eight columns it takes about 700 MB. */
const MOST_ROWS = 10_000_000;
const MOST_HEAD_LINES = 200;
const TIME = /^"?(?:time|t|x-axis|second)(?:[ _]*[([]?(s|sec|second|ms|us|µs|ns)[)\]]?)?"?$/i;
const TIME_MS: Record<string, number> = { s: 1000, sec: 1000, second: 1000, ms: 1, us: 1e-3, µs: 1e-3, ns: 1e-6 };
/** 9.9E37 and 9.91E37 are infinity and not-a-number of SCPI-1999 (vol. 1, 7.2.1.4-5). */
const NO_READING_FROM = 9e37;
const [LF, CR, SPACE, TAB, QUOTE, COMMA, SEMICOLON] = [10, 13, 32, 9, 34, 44, 59];

/**
 * Reads a trace with several columns, as oscilloscopes and loggers write them: lines of settings may stand before the line of names,
 * which has a time column (`time_s`, `time (ms)`, …) and columns by the names of `known`; `names` gives a column of the file one
 * of them ("CH1" to "core"). Millivolts are taken where a name ends in `mV`; decimal commas where `;` is between the columns. A cell
 * that is no number is no reading. Throws `bad-input` with file, line, what is there and what should be. A million rows of four
 * columns take about a second.
 */
export async function readStartCsv(
  file: string,
  { known, names = {} }: { known: ReadonlySet<string>; names?: Readonly<Record<string, string>> },
): Promise<ColumnTrace> {
  const rows = new ColumnRows(file, known, names);
  let left: Buffer = Buffer.alloc(0);
  try {
    for await (const piece of (await openPlainFile(file)).createReadStream({
      highWaterMark: 1 << 20,
    }) as AsyncIterable<Buffer>) {
      const bytes = left.length === 0 ? piece : Buffer.concat([left, piece]);
      const end = bytes.lastIndexOf(LF) + 1;
      rows.take(bytes, end);
      left = bytes.subarray(end);
      if (left.length > 1 << 20) throw rows.bad("is longer than one megabyte; it should be a row of numbers");
    }
    rows.take(Buffer.concat([left, Buffer.from("\n")]), left.length + 1);
  } catch (cause) {
    if (cause instanceof BenchError) throw cause;
    const code = cause instanceof Error && "code" in cause ? cause.code : undefined;
    const why = code === "ENOENT" ? "the file does not exist" : cause instanceof Error ? cause.message : String(cause);
    throw new BenchError("bad-input", `Cannot read trace ${quoted(file)}: ${why}; nothing was touched`, { cause });
  }
  return rows.trace();
}

interface Head {
  timeAt: number;
  timeMs: number;
  /** For each column of the file: where its numbers go, and what they are multiplied by. */
  places: { at: number; name: string; scale: number }[];
  ignored: string[];
  width: number;
}

class ColumnRows {
  readonly #file: string;
  readonly #known: ReadonlySet<string>;
  readonly #names: Readonly<Record<string, string>>;
  #head: Head | null = null;
  #delimiter = COMMA;
  #point = 46;
  #line = 0;
  #n = 0;
  #room = 1 << 12;
  #atMs = new Float64Array(this.#room);
  #columns: Float64Array<ArrayBuffer>[] = [];
  #cells = new Float64Array(0);

  constructor(file: string, known: ReadonlySet<string>, names: Readonly<Record<string, string>>) {
    this.#file = file;
    this.#known = known;
    this.#names = names;
  }

  /** Takes the whole lines before `end`. */
  take(bytes: Buffer, end: number): void {
    for (let from = 0; from < end; ) {
      const lineEnd = bytes.indexOf(LF, from);
      let to = lineEnd;
      if (to > from && bytes[to - 1] === CR) to--;
      this.#line++;
      if (this.#head === null) this.#findHead(bytes.toString("utf8", from, to));
      else if (to > from) this.#row(bytes, from, to, this.#head);
      from = lineEnd + 1;
    }
  }

  trace(): ColumnTrace {
    const head = this.#head;
    if (head === null) throw this.#noHead();
    if (this.#n < 3)
      throw this.bad(`is the last line, and there are only ${this.#n} rows of numbers; there should be at least three`);
    return {
      atMs: this.#atMs.subarray(0, this.#n),
      columns: new Map(
        head.places.map(({ name }, index) => [
          name,
          (this.#columns[index] ?? new Float64Array(0)).subarray(0, this.#n),
        ]),
      ),
      ignored: head.ignored,
    };
  }

  bad(what: string): BenchError {
    return new BenchError(
      "bad-input",
      `Cannot read trace ${quoted(this.#file)}: line ${this.#line} ${what}; nothing was touched`,
      { detail: { line: this.#line } },
    );
  }

  #noHead(): BenchError {
    return new BenchError(
      "bad-input",
      `Cannot read trace ${quoted(this.#file)}: no line names a time column and one of ${[...this.#known].join(", ")}; nothing was touched`,
    );
  }

  #findHead(text: string): void {
    if (this.#line > MOST_HEAD_LINES) throw this.#noHead();
    const delimiter = text.includes(";") ? ";" : text.includes("\t") && !text.includes(",") ? "\t" : ",";
    const cells = text
      .replace(/^\uFEFF/, "")
      .split(delimiter)
      .map((cell) => cell.trim().replace(/^"(.*)"$/, "$1"));
    const timeAt = cells.findIndex((cell) => TIME.test(cell));
    if (timeAt < 0) return;
    const head = this.#headOf(cells, timeAt);
    if (head.places.length === 0) return;
    this.#head = head;
    this.#delimiter = delimiter.charCodeAt(0);
    if (this.#delimiter === SEMICOLON) this.#point = COMMA;
    this.#columns = head.places.map(() => new Float64Array(this.#room));
    this.#cells = new Float64Array(head.width);
  }

  #headOf(cells: string[], timeAt: number): Head {
    const places: Head["places"] = [];
    const ignored: string[] = [];
    cells.forEach((cell, at) => {
      if (at === timeAt || cell === "") return;
      const parts = /^(.*?)(?:[ _]*[([]?(m?V)[)\]]?)?$/.exec(cell);
      const spelt = [cell, parts?.[1] ?? cell].flatMap((each) => [this.#names[each] ?? each]);
      const name = spelt.find((each) => this.#known.has(each));
      if (name === undefined) ignored.push(cell);
      else if (places.some((each) => each.name === name)) throw this.bad(`has the column ${quoted(name)} twice`);
      else places.push({ at, name, scale: parts?.[2] === "mV" && !this.#known.has(cell) ? 1e-3 : 1 });
    });
    const unit = (TIME.exec(cells[timeAt] ?? "")?.[1] ?? "s").toLowerCase();
    return { timeAt, timeMs: TIME_MS[unit] ?? 1000, places, ignored, width: cells.length };
  }

  #row(bytes: Buffer, from: number, to: number, head: Head): void {
    const cells = this.#cells;
    const delimiter = this.#delimiter;
    let at = 0;
    let start = from;
    for (let i = from; i <= to; i++) {
      if (i < to && bytes[i] !== delimiter) continue;
      if (at < head.width) cells[at] = this.#number(bytes, start, i);
      at++;
      start = i + 1;
    }
    // Some instruments end each row with a delimiter.
    if (at < head.width || (at > head.width && !(at === head.width + 1 && start > to && bytes[to - 1] === delimiter)))
      throw this.bad(`has ${at} columns; it should have ${head.width}, like the line of names`);
    const ms = (cells[head.timeAt] ?? Number.NaN) * head.timeMs;
    if (Number.isNaN(ms)) {
      // A line of units below the names.
      if (this.#n === 0) return;
      throw this.bad("has no number for its time");
    }
    const before = this.#n === 0 ? Number.NEGATIVE_INFINITY : (this.#atMs[this.#n - 1] ?? 0);
    if (ms < before) throw this.bad("goes back in time; time should never go back");
    if (this.#n === this.#room) this.#grow();
    this.#atMs[this.#n] = ms;
    head.places.forEach(({ at: place, scale }, index) => {
      const column = this.#columns[index];
      if (column !== undefined) column[this.#n] = (cells[place] ?? Number.NaN) * scale;
    });
    this.#n++;
  }

  #number(bytes: Buffer, from: number, to: number): number {
    let [first, last] = [from, to];
    while (first < last && isBlank(bytes[first] ?? 0)) first++;
    while (last > first && isBlank(bytes[last - 1] ?? 0)) last--;
    const value = numberIn(bytes, first, last, this.#point);
    return Math.abs(value) >= NO_READING_FROM ? Number.NaN : value;
  }

  #grow(): void {
    if (this.#room >= MOST_ROWS) throw this.bad(`is beyond ${MOST_ROWS} rows; keep only the part with the start`);
    this.#room = Math.min(MOST_ROWS, 2 * this.#room);
    const grown = (from: Float64Array): Float64Array<ArrayBuffer> => {
      const to = new Float64Array(this.#room);
      to.set(from);
      return to;
    };
    this.#atMs = grown(this.#atMs);
    this.#columns = this.#columns.map(grown);
  }
}

const isBlank = (byte: number): boolean => byte === SPACE || byte === TAB || byte === QUOTE;
