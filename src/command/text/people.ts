import { visibleJson, visibleText } from "../../job/report/visible-text.ts";
import { wrapWords } from "./wrap-words.ts";

const COLUMNS = 80;
/** No sentence for a person is longer; what is has a text in it that was not cut. */
const LONGEST_LINE = 4000;

/**
 * The one place that writes to the terminal (tests/house/one-place-writes.test.ts). What is said may quote a file, an
 * option or an instrument: characters that a terminal would obey are shown instead.
 */
const toOut = (text: string): void => void process.stdout.write(visibleLines(text));
const toErr = (text: string): void => void process.stderr.write(visibleLines(text));

/** Rows of CSV end with CR LF (RFC 4180), which no terminal minds. */
const visibleLines = (text: string): string => text.split("\r\n").map(visibleText).join("\r\n");

/** Text as a terminal shows it best: broken between words. Anything else gets it as it is. */
const forStream = (stream: NodeJS.WriteStream, text: string): string =>
  stream.isTTY ? wrapWords(text, (stream.columns || COLUMNS) - 1) : text;

const shortened = (text: string): string =>
  text.length <= LONGEST_LINE
    ? text
    : text
        .split("\n")
        .map((line) => (line.length > LONGEST_LINE ? `${line.slice(0, LONGEST_LINE)}…` : line))
        .join("\n");

/** Text for people goes to standard error, so that standard output holds the document alone. */
export const say = (text: string): void => toErr(`${forStream(process.stderr, shortened(text))}\n`);

/** As `say`, with so many tones before it. */
export function sayAloud(text: string, tones = 1): void {
  if (tones > 0) process.stderr.write("\u0007".repeat(tones));
  say(text);
}

/** A result for people, on standard output. */
export const print = (text: string): void => toOut(`${forStream(process.stdout, text)}\n`);

/** Text that is made up already, on standard output as it is: a table, CSV, a list. */
export const printAsIs = (text: string): void => toOut(text);

/** A question as `say` would say it, with what Enter alone answers and room behind it; answers with its last row as it stands there. */
export function sayQuestion(question: string, byEnter = "y/N"): string {
  const text = visibleText(`${forStream(process.stderr, `${question} [${byEnter}]`)} `);
  toErr(text);
  return text.slice(text.lastIndexOf("\n") + 1);
}

/** Ends the line of a question. */
export const endQuestion = (): void => toErr("\n");

/** As `say`, for text that is made up already. */
export const sayAsIs = (text: string): void => toErr(shortened(text));

/** A JSON document as a line of text, or as several. */
export const documentLine = (document: unknown, indent = 0): string =>
  `${visibleJson(JSON.stringify(document, null, indent))}\n`;

/** One JSON document on standard output. */
export const printDocument = (document: unknown, indent = 0): void => toOut(documentLine(document, indent));

/** The reader of the command line says its errors and its help through here too. */
export const PARSER_OUTPUT = { writeOut: printAsIs, writeErr: sayAsIs };

/** The one sentence that must not be missed. */
export const shoutOutputUnknown = (): void =>
  sayAloud("\n*** THE OUTPUT COULD NOT BE CONFIRMED OFF. Switch the supply off at its own switch now. ***");

/**
 * A reader that went away must not stop what switches off. A terminal that is closed ends the run as its hang-up signal
 * would: the system sends that signal to a shell alone, and a shell may keep it to itself.
 */
export function outliveReaders(): void {
  let isHungUp = false;
  for (const stream of [process.stdout, process.stderr]) {
    stream.on("error", () => {
      if (stream.isTTY && !isHungUp) process.emit("SIGHUP");
      isHungUp ||= stream.isTTY;
    });
  }
}

/** A line that is written over while something is waited for; on anything but a terminal, one line for each `step`. */
export class LiveLine {
  readonly #stream: NodeJS.WriteStream;
  #step = "";
  #isUp = false;

  constructor(stream: NodeJS.WriteStream = process.stderr) {
    this.#stream = stream;
  }

  /** `live` makes the line for a width in characters; `step` names what goes on, and `plain` says it without figures. */
  show(line: { step: string; plain: string; live: (width: number) => string }): void {
    if (this.#stream.isTTY) {
      // Room for the ^C a terminal echoes, which must not begin a new row.
      this.#stream.write(`\r\u001b[2K${visibleText(line.live((this.#stream.columns || COLUMNS) - 3))}`);
      this.#isUp = true;
    } else if (line.step !== this.#step) this.#stream.write(`${visibleText(line.plain)}\n`);
    this.#step = line.step;
  }

  /** Takes the line away, so that what is said next stands by itself. */
  end(): void {
    if (this.#isUp) this.#stream.write("\r\u001b[2K");
    this.#isUp = false;
  }
}
