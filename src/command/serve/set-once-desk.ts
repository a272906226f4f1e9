import { unwatchFile, watchFile } from "node:fs";
import type { Remembered } from "../../../shared/files/remembered.ts";
import type { SetOnceBody, WireSetOnce } from "../../../shared/files/set-once.ts";
import { messageOf } from "../../../shared/words/message-of.ts";
import type { JobStore } from "../../job/store/job-store.ts";
import type { PageSetOnce } from "../../wire/bench-facade.ts";
import type { PageJobs } from "../../wire/job-desk.ts";
import { readRemembered, rememberedFile } from "../input/remembered-file.ts";
import { remember } from "../record/remember.ts";

/** A change at the command line is on every page about so soon. */
const LOOK_MS = 500;

export interface SetOnceOptions {
  directory: string;
  store: JobStore;
  /** The record that the pages work with now: that of a rehearsal does not have the current job. */
  jobs: Pick<PageJobs, "sheet">;
  onChange: (now: WireSetOnce) => void;
}

/** The page shows and changes here what `firstamp use` keeps for a data directory. Files are read on this machine. */
export class SetOnceDesk implements PageSetOnce {
  readonly #options: SetOnceOptions;
  /** The last change that was told. */
  #told = "";

  constructor(options: SetOnceOptions) {
    this.#options = options;
  }

  /** Tells of every change, also of one by another program; answers with what ends that. */
  follow(): () => void {
    const file = rememberedFile(this.#options.directory);
    // Asked again and again: a watch on the folder would wake at every write of the record in it.
    watchFile(file, { interval: LOOK_MS, persistent: false }, () => void this.#tellChange());
    return () => unwatchFile(file);
  }

  async #tellChange(): Promise<void> {
    const now = await this.read();
    const said = JSON.stringify(now);
    if (said === this.#told) return;
    this.#told = said;
    this.#options.onChange(now);
  }

  async read(): Promise<WireSetOnce> {
    try {
      return await this.#shown(await readRemembered(this.#options.directory));
    } catch (cause) {
      // A damaged file keeps nobody from the page, which can forget it.
      return { ...NOTHING, problem: messageOf(cause) };
    }
  }

  async change({ file, forget = [], ...set }: SetOnceBody): Promise<WireSetOnce> {
    const { directory, store } = this.#options;
    const files = file === undefined ? [] : [file];
    const now = await this.#shown(await remember(directory, { ...set, files, forget }, (job) => store.findJob(job)));
    this.#told = JSON.stringify(now);
    this.#options.onChange(now);
    return now;
  }

  async #shown(kept: Remembered | null): Promise<WireSetOnce> {
    if (kept === null) return NOTHING;
    const { bench = null, board = null, host = null, fans = null, cooler = null, job } = kept;
    return { ...{ bench, board, host, fans, cooler }, job: await this.#job(job), problem: null };
  }

  /** The current job by its title; null where there is none, or it is in the record no more. */
  async #job(id: string | undefined): Promise<WireSetOnce["job"]> {
    const sheet = id === undefined ? null : await this.#options.jobs.sheet(id);
    return sheet === null ? null : { id: sheet.id, title: sheet.title ?? sheet.short };
  }
}

const NOTHING: WireSetOnce = {
  bench: null,
  board: null,
  host: null,
  fans: null,
  cooler: null,
  job: null,
  problem: null,
};
