import { fork } from "node:child_process";
import { once } from "node:events";
import { mkdir, mkdtemp, readdir, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import path from "node:path";
import { fileURLToPath } from "node:url";
import { afterAll, beforeAll, expect, it } from "vitest";
import { isOn, poweredBench } from "../command/powered-bench.ts";
import { keepTable } from "./fault-report.ts";
import { mutated } from "./mutations.ts";

const MUTATIONS = Number(process.env["FIRSTAMP_MUTATIONS"] ?? 350);
/** A worker is replaced after so many: what one keeps of each run must not hide what a run needs. */
const RUNS_A_WORKER = 250;
const WORKERS = 2;
const MOST_BYTES = 300e6;
const MOST_MS = 10_000;
const WORDS = new Set([0, 1, 2, 3, 5]);

const root = path.resolve(import.meta.dirname, "../..");
const main = path.join(root, "dist/src/main.js");
const worker = fileURLToPath(new URL("./mutation-worker.mjs", import.meta.url));

interface Answer {
  code: number;
  out: string;
  err: string;
  unexpected: string | null;
  ms: number;
  most: number;
  children: string;
}

/** A kind of file, what it was, and the command that reads it. None of these reaches an instrument: nothing can be on. */
interface Kind {
  name: string;
  files: Buffer[];
  put: string;
  args: (at: (name: string) => string) => string[];
}

let folder: string;
let kinds: Kind[];
/** Cannot be made, so that a command which got through all of its files ends before it starts a process. */
const NOWHERE = "/dev/null/data";

beforeAll(async () => {
  folder = await mkdtemp(path.join(tmpdir(), "firstamp-mutations-"));
  const at = (name: string): string => path.join(folder, name);
  const all = async (dir: string): Promise<Buffer[]> =>
    Promise.all(
      (await readdir(path.join(root, dir)))
        .filter((name) => name.endsWith(".json"))
        .sort()
        .map((name) => readFile(path.join(root, dir, name))),
    );
  const driver = (name: string) => ({ kind: "supply", address: "TCPIP0::127.0.0.1::9::SOCKET", driver: name });
  const bench = { version: 1, instruments: { psu: driver("auto") }, feeds: { aux: { supply: "psu", leadOhms: 0.04 } } };
  const readings = JSON.stringify({ draw: "core-alive", coldOhms: {}, volts: {}, signals: {} });
  await writeFile(at("readings.json"), readings);
  for (let lane = 0; lane < WORKERS; lane++) {
    await mkdir(at(String(lane)));
    const write = (name: string, text: string) => writeFile(path.join(folder, String(lane), name), text);
    await write("bench.json", JSON.stringify(bench));
    await write("drives.json", JSON.stringify({ ...bench, instruments: { psu: driver("mine") } }));
    await write("readings.json", readings);
  }
  const rows = Array.from({ length: 200 }, (_, row) => `${row / 20},12,${row < 20 ? 0.3 : 0.9},aux`);
  const capture = Buffer.from(`time_s,volts,amps,feed\n${rows.join("\n")}\n`);
  const boards = await all("scenarios/boards");
  const run = async (args: string[]): Promise<Answer> => {
    const child = startWorker();
    const answer = await child.ask(args);
    await child.end();
    return answer;
  };
  const job = (await run(["job", "new", "--data", at("record"), "--title", "Kestrel K2"])).out.trim();
  await run(["job", "note", job, "a word", "--data", at("record")]);
  await run(["job", "attach", job, at("readings.json"), "--data", at("record")]);
  await run(["job", "export", job, "--data", at("record"), "--out", at("job.zip")]);
  // In the driver's file its name must be the file's, or nothing after it is looked at.
  const drivers = (await all("drivers")).map((text) =>
    Buffer.from(text.toString("utf8").replace(/"name": "[^"]*"/, '"name": "mine"')),
  );
  kinds = [
    {
      name: "bench",
      files: [Buffer.from(JSON.stringify(bench, null, 2))],
      put: "m-bench.json",
      args: (at) => ["powerup", "--json", "--data", NOWHERE, "--bench", at("m-bench.json")],
    },
    {
      name: "board",
      files: boards,
      put: "m-board.json",
      args: (at) => [
        "powerup",
        "--json",
        "--data",
        NOWHERE,
        "--bench",
        at("bench.json"),
        "--board",
        at("m-board.json"),
      ],
    },
    {
      name: "board, diagnosed",
      files: boards,
      put: "m-diagnosed.json",
      args: (at) => ["diagnose", at("readings.json"), "--board", at("m-diagnosed.json")],
    },
    {
      name: "driver",
      files: drivers,
      put: "mine.json",
      args: (at) => ["powerup", "--json", "--data", NOWHERE, "--bench", at("drives.json")],
    },
    {
      name: "scenario",
      files: await all("scenarios"),
      put: "m-scenario.json",
      args: (at) => ["simulate", "--out", NOWHERE, "--scenario", at("m-scenario.json")],
    },
    { name: "capture", files: [capture], put: "m-capture.csv", args: (at) => ["classify", at("m-capture.csv")] },
    {
      name: "archive",
      files: [await readFile(at("job.zip"))],
      put: "m-job.zip",
      args: (at) => ["job", "import", at("m-job.zip"), "--data", at("taken")],
    },
  ];
});
afterAll(() => rm(folder, { recursive: true, force: true }));

function startWorker() {
  const child = fork(worker, [], { execArgv: [], stdio: ["ignore", "ignore", "inherit", "ipc"] });
  const gone = once(child, "exit").then(() => null);
  return {
    ask: async (args: string[]): Promise<Answer> => {
      child.send({ main, args });
      const late = setTimeout(() => child.kill("SIGKILL"), 3 * MOST_MS);
      const answer = await Promise.race([once(child, "message"), gone]);
      clearTimeout(late);
      if (answer === null) throw new Error("the program did not come to its end");
      return answer[0] as Answer;
    },
    end: async (): Promise<void> => {
      child.kill("SIGKILL");
      await gone;
    },
  };
}

/** What is wrong with an answer, in words; null where it is as it should be. */
function wrongWith({ code, out, err, unexpected, ms, most, children }: Answer): string | null {
  if (unexpected !== null) return `nobody expected: ${unexpected}`;
  if (!WORDS.has(code)) return `it ended with ${code}`;
  if (/^ {4}at /m.test(err + out)) return `a stack: ${err.slice(0, 400)}`;
  if (code !== 0 && err.trim() === "") return `${code} without a word`;
  if (ms > MOST_MS) return `it took ${Math.round(ms)} ms`;
  if (most > MOST_BYTES) return `it took ${Math.round(most / 1e6)} MB`;
  return children === "" ? null : `it left the process ${children}`;
}

it(`a changed file ends a command in words, in time and in bounds, ${MUTATIONS} times`, {
  timeout: 3 * 3_600_000,
}, async () => {
  const wrong: string[] = [];
  const codes = new Map<string, number>();
  let [next, slowestMs, mostBytes] = [0, 0, 0];
  const work = async (lane: number): Promise<void> => {
    let [child, runs] = [startWorker(), 0];
    try {
      for (let seed = next++; seed < MUTATIONS; seed = next++) {
        const kind = kinds[seed % kinds.length];
        if (kind === undefined) continue;
        const file = kind.files[Math.floor(seed / kinds.length) % kind.files.length] ?? Buffer.alloc(0);
        const at = (name: string): string => path.join(folder, String(lane), name);
        await writeFile(at(kind.put), mutated(file, seed + 1));
        const answer = await child.ask(kind.args(at)).catch((cause: Error) => ({ error: cause.message }));
        const why = "error" in answer ? answer.error : wrongWith(answer);
        if (why !== null) wrong.push(`${kind.name}, seed ${seed + 1}: ${why}`);
        if ("error" in answer || ++runs >= RUNS_A_WORKER) {
          await child.end();
          [child, runs] = [startWorker(), 0];
        }
        if ("error" in answer) continue;
        const key = `${kind.name} ${answer.code}`;
        codes.set(key, (codes.get(key) ?? 0) + 1);
        slowestMs = Math.max(slowestMs, answer.ms);
        mostBytes = Math.max(mostBytes, answer.most);
      }
    } finally {
      await child.end();
    }
  };
  await Promise.all(Array.from({ length: WORKERS }, (_, lane) => work(lane)));
  process.stdout.write(
    `${MUTATIONS} changed files: ${[...codes]
      .sort()
      .map(([key, n]) => `${key}: ${n}`)
      .join(", ")}; slowest ${Math.round(slowestMs)} ms, at most ${Math.round(mostBytes / 1e6)} MB\n`,
  );
  keepTable("mutations", { count: MUTATIONS, codes: [...codes], slowestMs, mostBytes, wrong: wrong.length });
  expect(wrong.slice(0, 20)).toEqual([]);
});

const POWERED = Math.ceil(MUTATIONS / 100);

it(`a changed board or bench file on a bench with power ends in words, with everything off, ${POWERED} times`, {
  timeout: 3 * 3_600_000,
}, async () => {
  const rig = await poweredBench({ scenario: "single-feed" });
  const codes = new Map<number | null, number>();
  const wrong: string[] = [];
  try {
    const { benchFile, boardFile } = rig.simulation;
    const files = [
      { option: "--board", name: "m-board.json", text: Buffer.from(JSON.stringify(boardFile, null, 1)) },
      { option: "--bench", name: "m-bench.json", text: Buffer.from(JSON.stringify(benchFile, null, 1)) },
    ] as const;
    for (let run = 0; run < POWERED; run++) {
      const { option, name, text } = files[run % files.length] ?? files[0];
      const file = path.join(rig.folder.path, name);
      await writeFile(file, mutated(text, 1_000_000 + run));
      const { code, out, err } = await rig.powerup(option, file, "--json", "--waive", "a test").ended;
      codes.set(code, (codes.get(code) ?? 0) + 1);
      const why = !WORDS.has(code ?? -1)
        ? `it ended with ${code}`
        : /^ {4}at /m.test(err + out)
          ? "a stack"
          : isOn(rig.simulation)
            ? "an output is on"
            : null;
      if (why !== null) wrong.push(`${name}, run ${run}: ${why}: ${err.slice(-400)}`);
    }
  } finally {
    // Throws where a guardian is left.
    await rig.close();
  }
  process.stdout.write(`${POWERED} powered: ${[...codes].map(([code, n]) => `${code}: ${n}`).join(", ")}\n`);
  expect(wrong).toEqual([]);
});
