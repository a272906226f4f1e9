import { type HeaderPattern, headerPattern, headerWords, matchHeader } from "./header-pattern.ts";
import { type MessageUnit, messageUnits } from "./message-units.ts";

/** A refusal with its number and words, as `SYST:ERR?` tells it. */
export class ScpiError extends Error {
  readonly code: number;

  constructor(code: number, words: string) {
    super(words);
    this.code = code;
  }
}

export interface Call {
  /** Numbers of the header's numbered mnemonics, in order. */
  numbers: readonly number[];
  parameters: string[];
  /** The header as it came. */
  header: string;
}

/** Answers a query with text, a setting with nothing; throws ScpiError to refuse. */
export type Handler = (call: Call) => string | undefined;

interface Command {
  pattern: HeaderPattern;
  run: Handler;
}

/** A command that a header was found to name, with the header's numbers. */
interface Found {
  run: Handler;
  numbers: readonly number[];
}

/** Headers that are remembered; a controller uses a few dozen. */
const REMEMBERED = 200;

export interface ScpiInstrumentOptions {
  identity: () => string;
  errorQueue: number;
  joins: boolean;
  /** Called before a unit runs: refuse by throwing, ignore by answering false. */
  before?: (unit: MessageUnit) => boolean;
  reset: () => void;
}

/**
 * The part every instrument has: commands found by their headers, the error queue, the event status register, the common
 * commands of IEEE 488.2.
 */
export class ScpiInstrument {
  private readonly commands: Command[] = [];
  private readonly options: ScpiInstrumentOptions;
  private errors: { code: number; words: string }[] = [];
  /** Event status register; bit 7 is power on. */
  private events = 0x80;
  private readonly enables = new Map<string, string>();
  /** Commands by the header that named them, `?` included: most headers come again and again. A later command takes no header from them. */
  private readonly found = new Map<string, Found>();

  constructor(options: ScpiInstrumentOptions) {
    this.options = options;
    this.on("*IDN?", () => options.identity());
    this.on("*OPC?", () => "1");
    this.on("*OPC", () => {
      this.events |= 1;
      return undefined;
    });
    this.on("*WAI", () => undefined);
    this.on("*TST?", () => "0");
    this.on("*CLS", () => {
      this.errors = [];
      this.events = 0;
      return undefined;
    });
    this.on("*RST", () => {
      options.reset();
      return undefined;
    });
    this.on("*ESR?", () => {
      const value = this.events;
      this.events = 0;
      return String(value);
    });
    this.on("*STB?", () => String((this.errors.length > 0 ? 4 : 0) | (this.events !== 0 ? 32 : 0)));
    for (const register of ["*ESE", "*SRE"]) {
      this.on(register, ({ parameters }) => {
        this.enables.set(register, String(Math.trunc(numberFrom(parameters[0], "")) & 255));
        return undefined;
      });
      this.on(`${register}?`, () => this.enables.get(register) ?? "0");
    }
    this.on("SYSTem:ERRor[:NEXT]?", () => {
      const first = this.errors.shift();
      return first === undefined ? '0,"No error"' : `${first.code},"${first.words}"`;
    });
    this.on("SYSTem:VERSion?", () => "1999.0");
  }

  on(pattern: string, run: Handler): void {
    this.commands.push({ pattern: headerPattern(pattern), run });
  }

  /** Files an error; a full queue's newest becomes −350. */
  fileError(code: number, words: string): void {
    if (this.errors.length >= this.options.errorQueue) {
      this.errors[this.errors.length - 1] = { code: -350, words: "Queue overflow" };
      return;
    }
    this.errors.push({ code, words });
    if (code <= -100 && code > -200) this.events |= 32;
    else if (code <= -200 && code > -300) this.events |= 16;
    else if (code <= -400 && code > -500) this.events |= 4;
    else this.events |= 8;
  }

  powerOn(): void {
    this.errors = [];
    this.events = 0x80;
  }

  /**
   * Runs a line and answers what it says, replies joined by `;`, or null when it says nothing. An error ends the line;
   * what was answered before it is still sent.
   */
  run(line: string): string | null {
    const units = messageUnits(line);
    const answers: string[] = [];
    for (const unit of units) {
      try {
        if (unit.query && answers.length > 0 && !this.options.joins) throw new ScpiError(-113, "Undefined header");
        if (this.options.before?.(unit) === false) continue;
        const answer = this.answer(unit);
        if (answer !== undefined) answers.push(answer);
      } catch (cause) {
        if (!(cause instanceof ScpiError)) throw cause;
        this.fileError(cause.code, cause.message);
        break;
      }
    }
    return answers.length === 0 ? null : answers.join(";");
  }

  private answer(unit: MessageUnit): string | undefined {
    const { run, numbers } = this.commandOf(unit);
    return run({ numbers, parameters: unit.parameters, header: unit.header });
  }

  private commandOf({ header, query }: MessageUnit): Found {
    const key = query ? `${header}?` : header;
    const known = this.found.get(key);
    if (known !== undefined) return known;
    const words = headerWords(header);
    let badSuffix = false;
    for (const { pattern, run } of this.commands) {
      if (pattern.query !== query) continue;
      const matched = matchHeader(pattern, words);
      if (matched === "bad-suffix") badSuffix = true;
      else if (matched !== null) {
        const found = { run, numbers: matched.numbers };
        if (this.found.size < REMEMBERED) this.found.set(key, found);
        return found;
      }
    }
    throw badSuffix
      ? new ScpiError(-114, `Header suffix out of range;${header}`)
      : new ScpiError(-113, `Undefined header;${header}`);
  }
}

const scales: Record<string, number> = { "": 1, K: 1e3, M: 1e-3, U: 1e-6 };

/** A number as a controller sends it, perhaps with its unit: `1.5`, `1.5V`, `200MA`, `2E-1`. Throws −104 or −109. */
export function numberFrom(text: string | undefined, unit: string): number {
  if (text === undefined) throw new ScpiError(-109, "Missing parameter");
  const found = /^([+-]?(?:\d+\.?\d*|\.\d+)(?:[Ee][+-]?\d+)?)\s*([A-Za-z]*)$/.exec(text);
  if (found === null) throw new ScpiError(-104, `Data type error;${text}`);
  const suffix = (found[2] ?? "").toUpperCase();
  const scale = suffix.endsWith(unit) ? scales[suffix.slice(0, suffix.length - unit.length)] : undefined;
  const factor = suffix === "" ? 1 : scale;
  if (factor === undefined) throw new ScpiError(-131, `Invalid suffix;${text}`);
  return Number(found[1]) * factor;
}

/** `ON`, `OFF`, `1`, `0`. Throws −104 or −109. */
export function booleanFrom(text: string | undefined): boolean {
  if (text === undefined) throw new ScpiError(-109, "Missing parameter");
  const word = text.toUpperCase();
  if (word === "ON" || word === "1") return true;
  if (word === "OFF" || word === "0") return false;
  throw new ScpiError(-104, `Data type error;${text}`);
}
