import type { FromBench } from "../../shared/ipc.ts";
import { answerOnce } from "../../src/daemon/page/answers.ts";
import { PageShow } from "../../src/daemon/page/show-page.ts";

/**
 * The page of a bench process, by the daemon's own code: what is asked and withdrawn comes to it, and a click on the
 * question it shows goes to the bench as the daemon sends it.
 */
export class RigPage {
  readonly #show = new PageShow();
  readonly #tell: (question: number, yes: boolean) => number;
  readonly #inbox: FromBench[] = [];
  /** Answers on their way, by the message that took them. */
  readonly #waiting = new Map<number, () => void>();
  /** Numbers of the questions that a click has answered. */
  readonly clicked = new Set<number>();

  /** `tell` sends an answer and says by which message. */
  constructor(tell: (question: number, yes: boolean) => number) {
    this.#tell = tell;
  }

  /** The number of the question that a person sees; null where none is shown. */
  get shown(): number | null {
    return this.#show.snapshot().question?.question ?? null;
  }

  /** A message of the bench process is on its way. */
  post(message: FromBench): void {
    this.#inbox.push(message);
  }

  /** What is on its way comes in, one message after the other, as over a pipe. */
  async deliver(): Promise<void> {
    for (let message = this.#inbox.shift(); message !== undefined; message = this.#inbox.shift()) {
      this.#hear(message);
      await new Promise((resolve) => setImmediate(resolve));
    }
  }

  /** A click on an answer; the second of two goes by the number that was shown at the first. */
  click(question: number, yes: boolean): void {
    const bench = {
      answer: (number: number, word: boolean): Promise<void> =>
        new Promise((resolve) => {
          this.clicked.add(number);
          this.#waiting.set(this.#tell(number, word), resolve);
        }),
    };
    void answerOnce(this.#show, bench, { question, yes });
  }

  #hear(message: FromBench): void {
    if (message.type === "question") {
      const { type: _, ...question } = message;
      this.#show.ask(question);
    } else if (message.type === "events") this.#show.progress(message.events, message.progress);
    else if (message.type === "ended") this.#show.ended(message.outcome, { run: "a run", atMs: 0 });
    else if (message.type === "done") this.#waiting.get(message.id)?.();
  }
}
