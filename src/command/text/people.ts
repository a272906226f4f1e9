import { wrapWords } from "./wrap-words.ts";

const COLUMNS = 80;

/** Text as a terminal shows it best: broken between words. Anything else gets it as it is. */
const forStream = (stream: NodeJS.WriteStream, text: string): string =>
  stream.isTTY ? wrapWords(text, (stream.columns || COLUMNS) - 1) : text;

/** What people read goes to standard error, so that standard output holds the document alone. */
export const say = (text: string): void => void process.stderr.write(`${forStream(process.stderr, text)}\n`);

/** A result for people, on standard output. */
export const print = (text: string): void => void process.stdout.write(`${forStream(process.stdout, text)}\n`);

/** A question as `say` would say it, with room for the answer behind it. */
export const questionForPeople = (question: string): string => `${forStream(process.stderr, `${question} [y/N]`)} `;

/** One JSON document on one line of standard output. */
export const printDocument = (document: unknown): void => void process.stdout.write(`${JSON.stringify(document)}\n`);

/** The one sentence that must not be missed. */
export const shoutOutputUnknown = (): void =>
  say("\u0007\n*** THE OUTPUT COULD NOT BE CONFIRMED OFF. Switch the supply off at its own switch now. ***");

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
      this.#stream.write(`\r\u001b[2K${line.live((this.#stream.columns || COLUMNS) - 3)}`);
      this.#isUp = true;
    } else if (line.step !== this.#step) this.#stream.write(`${line.plain}\n`);
    this.#step = line.step;
  }

  /** Takes the line away, so that what is said next stands by itself. */
  end(): void {
    if (this.#isUp) this.#stream.write("\r\u001b[2K");
    this.#isUp = false;
  }
}
