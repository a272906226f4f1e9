import type { Epoch, EpochToken } from "../../../shared/epoch.ts";
import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { WireAnswer, WireCommand } from "../../../shared/wire.ts";
import type { RunRequest, SweepHow } from "../../../shared/wire-request.ts";
import { benchFeeds, missingInWords } from "../run/bench-feeds.ts";
import type { PreparedRun } from "../run/prepare-run.ts";
import { sweepBench } from "../sweep/sweep-power.ts";
import { CUT_BEFORE } from "./answers.ts";
import { boardFromText } from "./board-from-text.ts";
import type { DeskLinks } from "./links-of-desk.ts";
import { type PageSweep, SWEEP_WATCH_SECONDS } from "./page-sweep.ts";
import type { RunDeskOptions } from "./run-desk.ts";
import { NO_BENCH, type RunStarts } from "./run-starts.ts";

const USUAL: SweepHow = { diode: false, fourWire: false, blackAt: "board" };

export interface SweepStartsOptions {
  desk: RunDeskOptions;
  links: () => DeskLinks;
  runs: RunStarts;
  sweep: PageSweep;
  /** A sweep that was asked for before an off does not begin after it. */
  epoch: Epoch;
}

/** The beginning of a sweep: a power-up of its own, permitted as any other, or cold with every output found off. */
export class SweepStarts {
  readonly #options: SweepStartsOptions;

  constructor(options: SweepStartsOptions) {
    this.#options = options;
  }

  async start({ request, powered, how = USUAL }: Extract<WireCommand, { type: "start-sweep" }>): Promise<WireAnswer> {
    const { desk, runs } = this.#options;
    const board = request.board === null ? desk.board : boardFromText(request.board);
    if (board === null || Object.keys(board.rails).length === 0)
      throw new Error("A sweep needs a board file that names the rails. Nothing was touched.");
    if (request.task !== undefined)
      throw new Error(`A sweep does its own power-up and cannot be a ${request.task.task}. Nothing was touched.`);
    if (how.group !== undefined && (powered !== null || !Object.hasOwn(board.groups ?? {}, how.group)))
      throw new Error(
        `The board file has no group "${how.group}" to measure on a board that is off. Nothing was touched.`,
      );
    if (how.across !== undefined && (powered === null || Object.keys(board.across ?? {}).length === 0))
      throw new Error("The board file has no parts to measure over on a board that is powered. Nothing was touched.");
    if (powered === null) return await this.#cold(request, board, how);
    const wish = { ...request, keepOn: true, watchSeconds: request.watchSeconds ?? SWEEP_WATCH_SECONDS };
    const permitted = await runs.permitted(wish, powered.confirmed);
    if ("result" in permitted) return permitted;
    return await this.#begin({ board, request, how, ...permitted });
  }

  /** The links anew, and every output found off: ohms are for a board that nobody powers. */
  async #cold(request: RunRequest, board: BoardFile, how: SweepHow): Promise<WireAnswer> {
    const { desk, links, runs, epoch } = this.#options;
    const { bench, drivers, ownDrivers = {} } = desk;
    const asked = epoch.token;
    if (bench === null) throw new Error(NO_BENCH);
    runs.mustBeFree();
    return await runs.alone(async () => {
      try {
        const found = await links().client.connect({ bench, drivers, ownDrivers, ...benchFeeds(bench, board) });
        links().take(found, missingInWords(found.missing));
        const left = found.feeds.find((each) => each.output !== "off");
        if (left !== undefined)
          throw new Error(
            `Ohms cannot be measured until feed "${left.feed}" is confirmed off; switch it off at the supply.`,
          );
        const job = await runs.jobFor(request.job, board.name);
        return await this.#begin({ board, job, request, how, prepared: null, asked });
      } catch (cause) {
        links().later();
        throw cause;
      }
    });
  }

  async #begin(of: {
    board: BoardFile;
    job: string;
    request: RunRequest;
    how: SweepHow;
    prepared: PreparedRun | null;
    asked: EpochToken;
  }): Promise<WireAnswer> {
    const { board, job, request, how, prepared, asked } = of;
    const { desk, links, runs, sweep, epoch } = this.#options;
    const { bench } = desk;
    if (bench === null || epoch.hasRisenSince(asked)) return CUT_BEFORE;
    const { instruments } = prepared ?? links().found;
    const side = sweepBench(links().client, async () => {
      if (prepared === null) throw new Error("A cold sweep energises nothing.");
      return await runs.begin({ prepared, job, asked }, "sweep");
    });
    const { coldOhms } = request;
    const begun = await sweep.start({ bench, board, job, coldOhms, prepared, instruments, side, how });
    return { result: "started", run: begun };
  }
}
