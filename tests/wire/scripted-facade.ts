import type { WireAnswer, WireCommand, WireDown, WireSnapshot } from "../../shared/wire.ts";
import type { PageBench, PageBoard, WireParty, WireRecord } from "../../src/wire/bench-facade.ts";
import type { PageJobs } from "../../src/wire/job-desk.ts";
import type { PageSetup } from "../../src/wire/setup-desk.ts";
import { exampleSnapshot } from "./example-snapshot.ts";
import { scriptedSetup } from "./scripted-setup.ts";

/** A bench that says what it is told to say, and remembers what it was asked. */
export class ScriptedFacade implements PageBench {
  readonly asked: { command: WireCommand; by: WireParty }[] = [];
  readonly gone: string[] = [];
  present: WireSnapshot = exampleSnapshot();
  record?: WireRecord;
  jobsForPage?: PageJobs;
  board?: PageBoard;
  setup: PageSetup = scriptedSetup();
  setOnce?: NonNullable<PageBench["setOnce"]>;
  shop?: NonNullable<PageBench["shop"]>;
  /** Whether something is on that somebody has to be in control of. */
  isOn = false;
  /** Who took over what is on. */
  readonly watchers: string[] = [];
  /** What a command is answered with; may never settle. */
  reply: (command: WireCommand) => Promise<WireAnswer> = async () => ({ result: "done" });
  readonly #listeners = new Set<(message: WireDown) => void>();
  readonly #waiting: { wanted: (command: WireCommand) => boolean; found: (command: WireCommand) => void }[] = [];

  snapshot(): WireSnapshot {
    return this.present;
  }

  subscribe(listener: (message: WireDown) => void): () => void {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  }

  get subscribers(): number {
    return this.#listeners.size;
  }

  needsWatch(): boolean {
    return this.isOn;
  }

  watchTaken(by: string): void {
    this.watchers.push(by);
  }

  say(message: WireDown): void {
    for (const listener of this.#listeners) listener(message);
  }

  command(command: WireCommand, by: WireParty): Promise<WireAnswer> {
    this.asked.push({ command, by });
    for (const waiting of this.#waiting) if (waiting.wanted(command)) waiting.found(command);
    return this.reply(command);
  }

  operatorGone(session: string): void {
    this.gone.push(session);
  }

  /** The next command of a type, or the first that came already. */
  asks<Type extends WireCommand["type"]>(type: Type): Promise<Extract<WireCommand, { type: Type }>> {
    const is = (command: WireCommand): command is Extract<WireCommand, { type: Type }> => command.type === type;
    const known = this.asked.map((each) => each.command).find(is);
    if (known !== undefined) return Promise.resolve(known);
    return new Promise((resolve) => {
      this.#waiting.push({ wanted: is, found: (command) => is(command) && resolve(command) });
    });
  }
}
