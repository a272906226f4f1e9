import type { WireAnswer, WireCommand, WireDown, WireSnapshot } from "../../../shared/wire.ts";
import type { RunDesk } from "../../daemon/page/run-desk.ts";
import type { CutWord } from "../../daemon/process/bench-process.ts";
import type { PageBench, PageBoard, WireParty, WireRecord } from "../../wire/bench-facade.ts";
import type { PageJobs } from "../../wire/job-desk.ts";
import type { PageSetup } from "../../wire/setup-desk.ts";

/**
 * The desk that the pages work with. Another can take its place while the daemon runs: that of a bench file that was just
 * written, or of a rehearsal. Pages stay open and are shown the new one at once. Everything, a cut too, goes to the desk that
 * is in use at that moment.
 */
export class DeskInUse implements PageBench {
  readonly jobsForPage: PageJobs;
  setup?: PageSetup;
  setOnce?: NonNullable<PageBench["setOnce"]>;
  shop?: NonNullable<PageBench["shop"]>;
  readonly #listeners = new Set<(message: WireDown) => void>();
  #desk: RunDesk;
  #deaf: () => void;

  constructor(desk: RunDesk) {
    this.#desk = desk;
    this.#deaf = desk.subscribe((message) => this.#tell(message));
    // The desk is looked up anew at each call: who holds this works with the record that is in use then.
    this.jobsForPage = new Proxy({} as PageJobs, { get: (_, method) => Reflect.get(this.#desk.jobsForPage, method) });
  }

  get record(): WireRecord {
    return this.#desk.record;
  }

  get board(): PageBoard {
    return this.#desk.board;
  }

  get desk(): RunDesk {
    return this.#desk;
  }

  /** Puts another desk in the place of this one, in one turn. The one before is still open; its closing is the caller's. */
  put(desk: RunDesk): void {
    this.#deaf();
    this.#desk = desk;
    this.#deaf = desk.subscribe((message) => this.#tell(message));
    this.#tell({ type: "snapshot", snapshot: desk.snapshot() });
  }

  snapshot(): WireSnapshot {
    return this.#desk.snapshot();
  }

  subscribe(listener: (message: WireDown) => void): () => void {
    this.#listeners.add(listener);
    return () => void this.#listeners.delete(listener);
  }

  command(command: WireCommand, by: WireParty): Promise<WireAnswer> {
    return this.#desk.command(command, by);
  }

  operatorGone(): void {
    this.#desk.operatorGone();
  }

  needsWatch(): boolean {
    return this.#desk.needsWatch();
  }

  watchTaken(by: string): void {
    this.#desk.watchTaken(by);
  }

  cut(by: string): Promise<CutWord> {
    return this.#desk.cut(by);
  }

  /** Tells every page something that no desk says. */
  tell(message: WireDown): void {
    this.#tell(message);
  }

  #tell(message: WireDown): void {
    for (const listener of this.#listeners) listener(message);
  }
}
