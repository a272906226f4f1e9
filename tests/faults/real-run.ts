import { type ChildProcess, spawn } from "node:child_process";
import { mkdtemp, readFile, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import path from "node:path";
import { fileURLToPath } from "node:url";
import { BenchFile } from "../../shared/files/bench-file.ts";
import { classifyFiles } from "../../src/command/input/classify-files.ts";
import { exportCaptureCsv } from "../../src/command/record/export-capture-csv.ts";
import { lookingAtRecord } from "../../src/command/record/with-record.ts";
import type { RunDocument } from "../../src/daemon/run/run-document.ts";
import { loadScenario } from "../../src/simulator/load-scenario.ts";
import type { Dialect } from "../../src/simulator/simulated-supply.ts";
import { openLineClient } from "../simulator/line-client.ts";

const main = fileURLToPath(new URL("../../dist/src/main.js", import.meta.url));

interface Ended {
  code: number | null;
  out: string;
  err: string;
}

function start(args: readonly string[]): { child: ChildProcess; ended: Promise<Ended>; firstLine: Promise<string> } {
  const child = spawn(process.execPath, [main, ...args], { stdio: ["ignore", "pipe", "pipe"] });
  let [out, err] = ["", ""];
  const firstLine = new Promise<string>((resolve, reject) => {
    child.stdout.setEncoding("utf8").on("data", (text: string) => {
      out += text;
      if (out.includes("\n")) resolve(out.slice(0, out.indexOf("\n")));
    });
    child.once("close", () => reject(new Error(`${args.join(" ")} ended without a line: ${err}`)));
  });
  firstLine.catch(() => {});
  child.stderr.setEncoding("utf8").on("data", (text: string) => {
    err += text;
  });
  const ended = new Promise<Ended>((resolve) => child.once("close", (code) => resolve({ code, out, err })));
  return { child, ended, firstLine };
}

const ASK_OUTPUT: Record<Dialect, (channel: number) => string> = {
  plain: () => "OUTP?",
  selection: (channel) => `INST:NSEL ${channel};:OUTP?`,
  "channel-list": (channel) => `OUTP? (@${channel})`,
  numbered: (channel) => `OUTP${channel}?`,
};

/** Ended by the bench: a process or a reply came too late for the program, which then cut, as it should. */
export const wasStarved = (document: RunDocument | null): boolean =>
  document === null || document.trip?.board === false;

/** What each output of the bench answers a stranger, who asks the instruments themselves. */
async function outputsOf(bench: BenchFile, dialect: Dialect): Promise<string[]> {
  const answers: string[] = [];
  for (const feed of Object.values(bench.feeds)) {
    if ("manual" in feed) continue;
    const stranger = await openLineClient(bench.instruments[feed.supply]?.address ?? "");
    answers.push(await stranger.ask(ASK_OUTPUT[dialect](feed.channel)));
    await stranger.close();
  }
  return answers;
}

type Classified = Pick<RunDocument, "class" | "sub" | "candidates" | "because" | "features">;

export interface RealRun {
  code: number | null;
  /** null where it ended before anything was energised; `err` says why. */
  document: RunDocument | null;
  /** The verdict that `classify` comes to on the CSV of the record; null where the bench ended it, at times before the first reading. */
  classified: Classified | null;
  /** What each output answers afterwards. */
  outputs: string[];
  err: string;
}

export interface RealRunOptions {
  scenario: string;
  dialect: Dialect;
  transport: "tcp" | "pty";
  /** Export and classify as commands too, where otherwise what the commands call is called: two process starts less. */
  allByCommand?: boolean;
}

/**
 * One power-up as a technician does it, simulated bench and program each a process of its own: `simulate`, `powerup
 * --json`, then the record's CSV out and through `classify`. Watches 3 s.
 */
export async function realRun(options: RealRunOptions): Promise<RealRun> {
  const { scenario } = await loadScenario(options.scenario);
  const directory = await mkdtemp(path.join(tmpdir(), "firstamp-real-"));
  const at = (name: string): string => path.join(directory, name);
  const simulation = start([
    ...["simulate", "--json", "--scenario", options.scenario, "--dialect", options.dialect],
    ...["--out", at("bench.json"), "--board-out", at("board.json")],
    ...(options.transport === "pty" ? ["--serial"] : []),
  ]);
  try {
    await simulation.firstLine;
    const stated = {
      ...(scenario.board === undefined ? {} : { board: at("board.json") }),
      ...(scenario.conditions.host === undefined ? {} : { host: scenario.conditions.host }),
      ...(scenario.conditions.fans === undefined ? {} : { fans: scenario.conditions.fans }),
    };
    const words = Object.entries(stated).flatMap(([option, value]) => [`--${option}`, value]);
    const power = await start([
      ...["powerup", "--json", "--bench", at("bench.json"), "--data", at("data"), ...words, "--watch", "3"],
      ...["--cooler", "cooler", "--checked", "polarity,return,sideband,unplugged", "--waive", "a test"],
      ...Object.entries(scenario.coldOhms).flatMap(([point, ohms]) => ["--ohms", `${point}=${ohms}`]),
    ]).ended;
    const bench = BenchFile.parse(JSON.parse(await readFile(at("bench.json"), "utf8")));
    const outputs = await outputsOf(bench, options.dialect);
    const document = power.out === "" ? null : (JSON.parse(power.out) as RunDocument);
    const ended = { code: power.code, document, outputs, err: power.err };
    if (document === null || wasStarved(document)) return { ...ended, classified: null };
    const job = document.job ?? "";
    const judged =
      options.allByCommand === true
        ? await judgedByCommand({ job, data: at("data"), csv: at("capture.csv"), words })
        : await judgedHere({ job, data: at("data"), csv: at("capture.csv"), stated });
    return { ...ended, classified: JSON.parse(judged) as Classified };
  } finally {
    simulation.child.kill("SIGTERM");
    await simulation.ended;
    await rm(directory, { recursive: true, force: true });
  }
}

interface Filed {
  job: string;
  data: string;
  csv: string;
}

async function judgedByCommand({ job, data, csv, words }: Filed & { words: string[] }): Promise<string> {
  const exported = await start(["job", "export", job, "--csv", "--out", csv, "--data", data]).ended;
  if (exported.code !== 0) throw new Error(`job export: ${exported.err}`);
  const judged = await start(["classify", "--json", csv, ...words]).ended;
  if (judged.code !== 0) throw new Error(`classify: ${judged.err}`);
  return judged.out;
}

async function judgedHere(filed: Filed & { stated: Parameters<typeof classifyFiles>[1] }): Promise<string> {
  await lookingAtRecord(filed.data, (store) => exportCaptureCsv(store, filed.job, filed.csv));
  let [out, err] = ["", ""];
  const streams = {
    out: (text: string) => {
      out += text;
    },
    err: (text: string) => {
      err += text;
    },
  };
  if ((await classifyFiles([filed.csv], { ...filed.stated, json: true }, streams)) !== 0) throw new Error(err);
  return out;
}
