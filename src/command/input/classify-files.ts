import { BenchError } from "../../../shared/bench-error.ts";
import type { DrawInput } from "../../../shared/draw-input.ts";
import type { DrawVerdict } from "../../../shared/draw-verdict.ts";
import { BoardFile } from "../../../shared/files/board-file.ts";
import type { ShopSettings } from "../../../shared/files/shop-settings.ts";
import type { BaselineCapture } from "../../analysis/baseline-band.ts";
import { type DrawElsewhere, type DrawSurroundings, drawBaselineOf } from "../../analysis/draw-baseline.ts";
import { readCaptureCsv } from "../../capture/read-capture-csv.ts";
import { visibleLine } from "../../job/report/visible-text.ts";
import { verdictOnDraw } from "../../verdict/draw-verdict.ts";
import { documentLine, printAsIs, sayAsIs } from "../text/people.ts";
import { verdictText } from "../text/verdict-text.ts";
import { readDocument } from "./read-document.ts";

export interface ClassifyOptions {
  board?: string;
  limit?: number;
  leadOhms?: number;
  host?: "none" | "attached";
  fans?: "on" | "off";
  /** Data directory of a record to hold the draws against; left out: none is asked. */
  data?: string;
  supply?: string;
  json?: boolean;
}

/** The target of the lines; the program's own unless a test hands in others. */
export interface ClassifyStreams {
  out: (text: string) => void;
  err: (text: string) => void;
}

const STREAMS: ClassifyStreams = { out: printAsIs, err: sayAsIs };

/** Judges each file and answers the exit code: 0, or 2 where one could not be read. Never throws for what a person wrote. */
export async function classifyFiles(
  files: readonly string[],
  options: ClassifyOptions,
  streams = STREAMS,
): Promise<0 | 2> {
  let board: BoardFile | null;
  let known: RecordKnowledge;
  try {
    board =
      options.board === undefined
        ? null
        : await readDocument({ schema: BoardFile, what: "board file", file: options.board });
    known = await knowledgeOf(board, options);
  } catch (cause) {
    if (!(cause instanceof BenchError)) throw cause;
    streams.err(`${cause.message}\n`);
    return 2;
  }
  let code: 0 | 2 = 0;
  for (const file of files) {
    try {
      const verdict = await judged(file, board, options, known);
      streams.out(options.json === true ? documentOf(file, verdict) : verdictText(visibleLine(file), verdict));
    } catch (cause) {
      if (!(cause instanceof BenchError)) throw cause;
      code = 2;
      streams.err(`${cause.message}\n`);
      if (options.json === true) streams.out(documentLine({ file, error: cause.message }));
    }
  }
  return code;
}

interface RecordKnowledge {
  shop: ShopSettings | null;
  captures: BaselineCapture[];
  elsewhere: DrawElsewhere[];
}

async function knowledgeOf(board: BoardFile | null, { data }: ClassifyOptions): Promise<RecordKnowledge> {
  if (data === undefined) return { shop: null, captures: [], elsewhere: [] };
  const [{ lookingAtRecord }, { goodCaptures }, { readShopSettings }, { drawsElsewhere }] = await Promise.all([
    import("../record/with-record.ts"),
    import("../../job/known/good-captures.ts"),
    import("../../job/store/shop-settings.ts"),
    import("../../job/board/known-elsewhere.ts"),
  ]);
  return lookingAtRecord(data, async (store) => ({
    shop: await readShopSettings(store.dir),
    captures: board === null ? [] : await goodCaptures(store, board.name, null),
    elsewhere: board === null ? [] : await drawsElsewhere(store.dir, board.name, null),
  }));
}

async function judged(
  file: string,
  board: BoardFile | null,
  options: ClassifyOptions,
  { shop, captures, elsewhere }: RecordKnowledge,
): Promise<DrawVerdict> {
  const traces = await readCaptureCsv(file);
  const input: DrawInput = {
    traces: traces.map((trace) => ({ ...trace, leadOhms: trace.leadOhms ?? options.leadOhms ?? null })),
    board,
    conditions: { host: options.host ?? "unknown", fans: options.fans ?? "unknown" },
    limitAmps: options.limit ?? null,
    shop,
    baseline:
      captures.length + elsewhere.length === 0 ? null : drawBaselineOf(captures, surroundings(options), [], elsewhere),
  };
  return verdictOnDraw(input);
}

/** Conditions that a file cannot state stay unstated; leads only their ohms, which do not name a set. */
const surroundings = ({ supply, host, fans }: ClassifyOptions): DrawSurroundings => ({
  supply: supply ?? null,
  leads: null,
  host: host ?? null,
  fans: fans ?? null,
});

/** The keys of `powerup --json`, so that one reader serves both; what a recorded trace has no part in is null. */
function documentOf(file: string, verdict: DrawVerdict): string {
  return documentLine({ file, ...verdict, trip: null, output: null, job: null, capture: null });
}
