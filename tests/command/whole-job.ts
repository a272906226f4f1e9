import { readFile } from "node:fs/promises";
import type { Truth } from "../../src/simulator/truth.ts";
import { despiteBusyMachine, type PoweredBench, poweredBench } from "./powered-bench.ts";
import { runProgram, startProgram } from "./run-program.ts";
import { sweepWith } from "./sweep-with.ts";

/** A rail as the sweep under power read it, beside what the simulator had there. */
export interface SweptRail {
  rail: string;
  volts: number;
  expandedVolts: number;
  verdict: string;
  trueVolts: number;
  limits: readonly [number | null, number | null];
}

/** What a whole job by command line came to: how long the board was on, what the commands said, and the owner's report. */
export interface WholeJob {
  job: string;
  found: { onMs: number };
  left: { onMs: number };
  /** The points that the board as found was probed at while it was on; null for a board that may not be kept on. */
  swept: SweptRail[] | null;
  diagnosis: string;
  shown: string;
  report: string;
}

/** Long enough for slow faults to show, and for a good board to settle on a busy machine. */
const WATCH_SECONDS = "6";

/** The board as it is after the repair: what was wrong is right. */
const GOOD: Readonly<Record<string, string>> = { "Kestrel K2": "normal", "Wren W1": "single-feed" };

/** Takes a scenario's board through a whole job: intake, power-up with a sweep where it holds, diagnosis, repair, power-up again, result, tests, report. */
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
    // A board that trips is not there to be probed.
    const swept = bench.simulation.scenario.expected.trip === undefined ? await poweredSweep(bench, job, data) : null;
    const found = swept ?? (await powered(bench, job, data));
    const diagnosis = await of("diagnose", "--job", job, "--board", `${bench.folder.path}/board.json`);
    await of("job", "repair", job, "What was wrong is replaced.", "--part", "part@U7=new");
    const left = await powered(good, job, data);
    await of("job", "test", job, "host-boots", "5/5", "--by", "B. Bench");
    await of("job", "result", job, "passed", "Ready to go back.");
    const shown = await of("job", "show", job);
    const file = `${bench.folder.path}/report.html`;
    await of("job", "report", job, "--out", file);
    return { job, found, left, swept: swept?.rails ?? null, diagnosis, shown, report: await readFile(file, "utf8") };
  } finally {
    await Promise.all([bench.close(), good.close()]);
  }
}

async function powered(bench: PoweredBench, job: string, data: readonly string[]): Promise<WholeJob["found"]> {
  const onMs = await despiteBusyMachine(
    async () => {
      const sinceMs = bench.simulation.truth().atMs;
      const { out, err } = await startProgram([
        ...["powerup", ...bench.args, ...data, "--job", job, "--watch", WATCH_SECONDS, "--json"],
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

/** A power-up with a sweep: a hand probes the first point and the first that is not as it should be, and passes the others by. */
async function poweredSweep(
  { args, simulation }: PoweredBench,
  job: string,
  data: readonly string[],
): Promise<{ onMs: number; rails: SweptRail[] }> {
  return await despiteBusyMachine(
    async () => {
      const sinceMs = simulation.truth().atMs;
      const rails: SweptRail[] = [];
      let [hasBad, trueVolts] = [false, 0];
      const { done } = await sweepWith(
        [...args, ...data, "--job", job, "--watch", WATCH_SECONDS, "--waive", "a simulated bench"],
        (line, say) => {
          if (line.event === "place-probe") {
            const volts = simulation.voltsAt(line.rail) ?? 0;
            const [least, most] = line.limits;
            const isBad = (least !== null && volts < least) || (most !== null && volts > most);
            if (rails.length > 0 && (!isBad || hasBad)) return say("skip");
            [hasBad, trueVolts] = [hasBad || isBad, volts];
            simulation.probe(line.rail);
            // A dead rail reads like a probe in the air.
            if (Math.abs(volts) < 0.1) setTimeout(() => say("take"), 500);
          } else if (line.event === "rail") {
            simulation.probe(null);
            const { rail, volts, expandedVolts, verdict, limits } = line;
            if (volts != null)
              rails.push({ rail, volts, expandedVolts: expandedVolts ?? 0, verdict, trueVolts, limits });
          }
        },
      );
      if (done.output !== "off") throw new Error(`the output is ${done.output}`);
      return { trip: done.trip, rails, onMs: timeOn(simulation.truth(), sinceMs) };
    },
    ({ trip }) => (trip?.board === false ? trip.because : null),
  );
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
