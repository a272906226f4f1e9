import { giveUpWhileOn, type OwnQuestion } from "../views/frame/dock-question.ts";
import { say } from "../words/shell.ts";
import type { BenchConnection } from "./bench-connection.ts";
import { needsWatch, type PageState } from "./page-state.ts";

/** How this page gets control, hands it over, and gives it up: never so that something on is left alone. */
export class PageControl {
  readonly #connection: BenchConnection;
  readonly #page: { state: () => PageState; say: (text: string) => void; ask: (own: OwnQuestion) => void };
  /** True where control is given up once everything is off. */
  #givesUp = false;

  constructor(
    connection: BenchConnection,
    page: { state: () => PageState; say: (text: string) => void; ask: (own: OwnQuestion) => void },
  ) {
    this.#connection = connection;
    this.#page = page;
  }

  async ask(): Promise<void> {
    this.#page.say(say("control.asked"));
    const answer = await this.#connection.send({ type: "ask-lease" });
    this.#page.say(answer.result === "refused" ? answer.because : "");
  }

  /** While something is on the other page answers first: until then this one is told that it still watches. */
  async handOver(to: string, yes: boolean): Promise<void> {
    if (yes && needsWatch(this.#page.state())) this.#page.say(say("control.offered", { page: to }));
    const answer = await this.#connection.send({ type: "hand-over", yes });
    this.#page.say(answer.result === "refused" ? answer.because : "");
  }

  async accept(yes: boolean): Promise<void> {
    const answer = await this.#connection.send({ type: "accept-lease", yes });
    if (answer.result === "refused") this.#page.say(answer.because);
  }

  /** What is on ends in order first, where a person says so; otherwise control stays here. */
  async giveUp(): Promise<void> {
    const answer = await this.#connection.send({ type: "release-lease" });
    if (answer.result !== "refused") return;
    if (answer.code !== "still-on") return this.#page.say(answer.because);
    this.#page.ask(
      giveUpWhileOn(async () => {
        this.#givesUp = true;
        this.#page.say(say("control.ends-first"));
        await this.#connection.send({ type: "stop" });
        this.look();
      }),
    );
  }

  /** Called whenever something was heard: gives up what was to be given up, once everything is off. */
  look(): void {
    if (!this.#givesUp) return;
    const state = this.#page.state();
    const isOver = state.lease === "you" && !needsWatch(state);
    if (state.lease === "you" && !isOver) return;
    this.#givesUp = false;
    this.#page.say("");
    if (isOver) void this.giveUp();
  }
}
