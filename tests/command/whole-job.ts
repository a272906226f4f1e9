import { readFile } from "node:fs/promises";
import type { Truth } from "../../src/simulator/truth.ts";
import { despiteBusyMachine, type PoweredBench, poweredBench } from "./powered-bench.ts";
import { runProgram, startProgram } from "./run-program.ts";

/** What a whole job by command line came to: how long the board was on, what the commands said, and the owner's report. */
export interface WholeJob {
  job: string;
  found: { onMs: number };
  left: { onMs: number };
  diagnosis: string;
  shown: string;
  report: string;
}

/** The board as it is after the repair: what was wrong is right. */
const GOOD: Readonly<Record<string, string>> = { "Kestrel K2": "normal", "Wren W1": "single-feed" };

/** Takes a scenario's board through a whole job: intake, power-up, diagnosis, repair, power-up again, result, tests, report. */
export async function wholeJob(scenario: string): Promise<WholeJob> {
  const bench = await poweredBench({ scenario });
  const good = await poweredBench({ scenario: GOOD[bench.simulation.boardFile?.name ?? ""] ?? "single-feed" });
  const data = ["--data", `${bench.folder.path}/data`];
  const of = async (...args: string[]): Promise<string> => {
    const { code, out, err } = await runProgram([...args, ...data]);
    if (code !== 0) throw new Error(`${args.join(" ")} ended with ${code}: ${err}`);
    return out;
  };
  try {
    const job: string = JSON.parse(await of("job", "new", "--title", "Card number 17", "--json")).job;
    await of(
      "job",
      "intake",
      job,
      "--owner",
      "A. Invented",
      "--words",
      "It does not come on any more.",
      "--serial",
      "K2-0042",
    );
    const found = await powered(bench, job, data);
    const diagnosis = await of("diagnose", "--job", job, "--board", `${bench.folder.path}/board.json`);
    await of("job", "repair", job, "What was wrong is replaced.", "--part", "part@U7=new");
    const left = await powered(good, job, data);
    await of("job", "test", job, "host-boots", "5/5", "--by", "B. Bench");
    await of("job", "result", job, "passed", "Ready to go back.");
    const shown = await of("job", "show", job);
    const file = `${bench.folder.path}/report.html`;
    await of("job", "report", job, "--out", file);
    return { job, found, left, diagnosis, shown, report: await readFile(file, "utf8") };
  } finally {
    await Promise.all([bench.close(), good.close()]);
  }
}

async function powered(bench: PoweredBench, job: string, data: readonly string[]): Promise<WholeJob["found"]> {
  const onMs = await despiteBusyMachine(
    async () => {
      const sinceMs = bench.simulation.truth().atMs;
      const { out, err } = await startProgram([
        ...["powerup", ...bench.args, ...data, "--job", job, "--watch", "6", "--json"],
        ...["--waive", "a simulated bench"],
      ]).ended;
      if (out === "") throw new Error(err);
      const { trip, output } = JSON.parse(out);
      if (output !== "off") throw new Error(`the output is ${output}`);
      return { trip, onMs: timeOn(bench.simulation.truth(), sinceMs) };
    },
    // What the bench ended says nothing of the board: it is done once more.
    ({ trip }) => (trip?.board === false ? trip.because : null),
  );
  return onMs;
}

/** How long any output was on since then, milliseconds, by the simulator. */
function timeOn({ feeds }: Truth, sinceMs: number): number {
  const edges = Object.values(feeds)
    .flatMap((feed) => feed.switchings)
    .filter((each) => each.atMs >= sinceMs)
    .sort((a, b) => a.atMs - b.atMs);
  let on = 0;
  let fromMs = 0;
  let total = 0;
  for (const { atMs, output } of edges) {
    if (output === "on" && on++ === 0) fromMs = atMs;
    else if (output === "off" && on > 0 && --on === 0) total += atMs - fromMs;
  }
  return total;
}
