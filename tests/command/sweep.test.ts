import { type ChildProcessWithoutNullStreams, spawn } from "node:child_process";
import { readFile } from "node:fs/promises";
import { afterEach, expect, test } from "vitest";
import type { JobRecord } from "../../shared/record/job.ts";
import { SweepLine } from "../../shared/sweep.ts";
import { despiteBusyMachine, isOn, poweredBench, timesOn, wasTooSlow } from "./powered-bench.ts";
import { endPrograms, PROGRAM, runProgram, startProgram, testFolder } from "./run-program.ts";
import { type LineOf as Of, sweepWith } from "./sweep-with.ts";

afterEach(endPrograms);

/** `simulate` of the built program, which takes the probe's place from its input. */
async function simulated(
  scenario: string,
): Promise<{ child: ChildProcessWithoutNullStreams; args: string[]; end(): Promise<void> }> {
  const folder = await testFolder();
  const [bench, board] = [`${folder.path}/bench.json`, `${folder.path}/board.json`];
  const child = spawn(
    process.execPath,
    [PROGRAM, "simulate", "--scenario", scenario, "--out", bench, "--board-out", board],
    { stdio: "pipe" },
  );
  child.stderr.resume();
  await new Promise<void>((resolve, reject) => {
    child.stdout.once("data", () => resolve());
    child.once("close", (code) => reject(new Error(`simulate ended with ${code}`)));
  });
  return {
    child,
    args: [
      ...[
        "--bench",
        bench,
        "--board",
        board,
        "--data",
        `${folder.path}/data`,
        "--waive",
        "a test on a simulated bench",
      ],
      ...["--host", "none", "--fans", "on", "--cooler", "cooler", "--watch", "1"],
    ],
    end: async () => {
      const closed = new Promise((resolve) => child.once("close", resolve));
      child.kill("SIGTERM");
      await closed;
      await folder.remove();
    },
  };
}

// In real time, and again where the machine was too busy for it.
test("a whole sweep of the Kestrel K2 by a scripted hand: every verdict right, filed with the job, output off, exit 0", {
  timeout: 200_000,
}, async () => {
  const { child, args, end } = await simulated("normal");
  const to = (word: string): void => void child.stdin.write(`${word}\n`);
  try {
    const swept = await despiteBusyMachine(
      async () => {
        to("lift");
        return await sweepWith(args, (line) => {
          if (line.event === "place-probe" && line.rail === "5v") {
            // A slip on the way to the point.
            to("probe 12v");
            setTimeout(() => to("lift"), 60);
            setTimeout(() => to("probe 5v"), 200);
          } else if (line.event === "place-probe") to(`probe ${line.rail === "1v8" ? "3v3" : line.rail}`);
          else if (line.event === "question" || line.event === "rail") to("lift");
          if (line.event === "question") setTimeout(() => to(`probe ${line.rail}`), 400);
        });
      },
      ({ done }) => (done.ended === "failed" && wasTooSlow(done.trip, false) ? done.because.join("; ") : null),
    );
    const of = <T extends SweepLine["event"]>(event: T): Of<T>[] =>
      swept.lines.filter((line): line is Of<T> => line.event === event);
    expect(swept.code).toBe(0);
    expect(of("place-probe").length).toBeGreaterThanOrEqual(14);
    expect(of("rail").map(({ rail, verdict }) => [rail, verdict])).toEqual(
      of("rail").map(({ rail }) => [rail, "pass"]),
    );
    expect(new Set(of("rail").map((each) => each.rail)).size).toBe(14);
    for (const each of of("rail")) expect(each.expandedVolts).toBeGreaterThan(0);
    expect(of("question")).toMatchObject([{ rail: "1v8", fits: "3v3" }]);
    expect(of("reading").some((each) => each.stable)).toBe(true);
    expect(swept.done).toMatchObject({ ended: "all-visited", output: "off" });
    expect(swept.done.diagnosis?.faults[0]?.element).toBe("board");
    expect(swept.err).toContain("You will probe a live board");
    const shown = await runProgram(["job", "show", swept.done.job ?? "", ...args.slice(4, 6), "--json"]);
    const record = JSON.parse(shown.out) as JobRecord;
    const kinds = record.log.map((each) => each.event.kind);
    expect(kinds.filter((each) => each === "sweep-rail")).toHaveLength(14);
    expect(kinds).toContain("sweep-ended");
    const report = `${args[1]}.html`;
    await runProgram(["job", "report", swept.done.job ?? "", ...args.slice(4, 6), "--out", report]);
    expect(await readFile(report, "utf8")).toMatch(/Voltage of each rail<\/td><td class="result">pass/);
  } finally {
    await end();
  }
});

test("without a meter the values are typed in; cold, nothing is energised, and what is typed is judged", async () => {
  const bench = await poweredBench({ scenario: "normal", typesColdOhms: false });
  try {
    const { meter: _, ...file } = bench.simulation.benchFile;
    const instruments = Object.fromEntries(
      Object.entries(file.instruments).filter(([, each]) => each.kind === "supply"),
    );
    const path = await bench.folder.write("no-meter.json", { ...file, instruments });
    const args = ["--cold", "--bench", path, ...bench.args.slice(2)];
    const typed: Record<string, string> = {
      core: "ohms 0.41",
      aux: "ohms 12.4k",
      "aux:core": "ohms open",
      mem: "ohms 0.2",
    };
    const swept = await sweepWith(args, (line, say) => {
      if (line.event !== "place-probe") return;
      if (line.rail === "soc") say("nonsense");
      say(typed[line.rail] ?? (line.rail === "5v" ? "cannot-reach" : line.rail === "mem-vpp" ? "stop" : "skip"));
    });
    expect(swept.code).toBe(0);
    const verdicts = Object.fromEntries(swept.done.rails.map((each) => [each.rail, each.verdict]));
    expect(verdicts).toMatchObject({
      core: "pass",
      aux: "pass",
      mem: "fail",
      "5v": "not-measured",
      "mem-vpp": "not-measured",
    });
    expect(swept.done).toMatchObject({ ended: "stopped", output: "off" });
    expect(swept.done.readings).toMatchObject({ coldOhms: { core: 0.41, aux: 12400, mem: 0.2 }, cannotReach: ["5v"] });
    expect(swept.err).toContain('"nonsense" is not understood');
    expect(timesOn(bench.simulation)).toBe(0);
  } finally {
    await bench.close();
  }
});

test("SIGINT cuts first; the sweep ends with 1, the output off, and its last line says so", async () => {
  const bench = await poweredBench({ scenario: "normal" });
  try {
    const { program, ended } = await despiteBusyMachine(
      async () => {
        const started = startProgram(["sweep", ...bench.args, "--json", "--waive", "a test"]);
        await started.until("out", /"place-probe"|"done"/);
        started.child.kill("SIGINT");
        return { program: started, ended: await started.ended };
      },
      ({ program: { said } }) => (said.out.includes('"place-probe"') ? null : said.out),
    );
    expect(ended.code).toBe(1);
    const last = SweepLine.parse(JSON.parse(program.said.out.trim().split("\n").at(-1) ?? ""));
    expect(last).toMatchObject({ event: "done", ended: "cut", output: "off" });
    expect(isOn(bench.simulation)).toBe(false);
  } finally {
    await bench.close();
  }
});

test("a sweep without a board file, or without what the permit asks for, touches nothing and ends with 2", async () => {
  const bench = await poweredBench({ scenario: "normal", typesColdOhms: false });
  try {
    const noBoard = await runProgram([
      "sweep",
      ...bench.args.slice(0, 2),
      "--json",
      "--data",
      `${bench.folder.path}/data`,
    ]);
    expect([noBoard.code, noBoard.err]).toEqual([2, expect.stringContaining("Cannot sweep without a board file")]);
    const refused = await runProgram(["sweep", ...bench.args, "--json"]);
    expect(refused.code).toBe(2);
    expect(SweepLine.parse(JSON.parse(refused.out))).toMatchObject({
      event: "done",
      output: "off",
      rails: [],
      job: null,
    });
    expect(timesOn(bench.simulation)).toBe(0);
  } finally {
    await bench.close();
  }
});
