/** What people read goes to standard error, so that standard output holds the document alone. */
export const say = (text: string): void => void process.stderr.write(`${text}\n`);

/** One JSON document on one line of standard output. */
export const printDocument = (document: unknown): void => void process.stdout.write(`${JSON.stringify(document)}\n`);

const clip = (text: string, width: number): string => (text.length <= width ? text : `${text.slice(0, width - 1)}…`);

/** A line that is written over while something is waited for; on anything but a terminal, one line a change of stage. */
export class LiveLine {
  readonly #stream: NodeJS.WriteStream;
  #stage = "";
  #isUp = false;

  constructor(stream: NodeJS.WriteStream = process.stderr) {
    this.#stream = stream;
  }

  show(stage: string, text: string): void {
    if (this.#stream.isTTY) {
      this.#stream.write(`\r\u001b[2K${clip(`${stage}  ${text}`, (this.#stream.columns ?? 100) - 1)}`);
      this.#isUp = true;
    } else if (stage !== this.#stage) this.#stream.write(`${stage}  ${text}\n`);
    this.#stage = stage;
  }

  /** Leaves what is shown standing and starts a new line. */
  end(): void {
    if (this.#isUp) this.#stream.write("\n");
    this.#isUp = false;
  }
}
