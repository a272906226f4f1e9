import { readFile } from "node:fs/promises";
import { afterEach, expect, test } from "vitest";
import { poweredBench, timesOn } from "./powered-bench.ts";
import { endPrograms, runProgram } from "./run-program.ts";
import { type LineOf, sweepWith } from "./sweep-with.ts";

afterEach(endPrograms);

const LEGS = ["rx0p", "rx0n", "rx1p", "rx1n", "rx2p", "rx2n", "rx3p", "rx3n"];
/** Legs of two kinds, as a good board has them: receivers' coupling differs from leg to leg. */
const GOOD = [0.45, 0.62, 0.452, 0.618, 0.449, 0.622, 0.451, 0.619];

test("a group by command line: the leg that hides among legs of the other kind is found once a good board is in the record", {
  timeout: 120_000,
}, async () => {
  const bench = await poweredBench({ scenario: "normal", typesColdOhms: false });
  try {
    const { meter: _, ...file } = bench.simulation.benchFile;
    const { dmm: __, ...instruments } = file.instruments;
    const path = await bench.folder.write("no-meter.json", { ...file, instruments });
    const data = ["--data", `${bench.folder.path}/data`];
    const board = bench.args[bench.args.indexOf("--board") + 1] ?? "";
    const typed = async (values: readonly number[]): Promise<LineOf<"done">> => {
      const args = ["--group", "lanes-rx", "--diode", "--bench", path, "--board", board, ...data];
      const { code, done } = await sweepWith(args, (line, say) => {
        if (line.event === "place-probe") say(`diode ${values[LEGS.indexOf(line.rail)]}`);
      });
      expect(code).toBe(0);
      return done;
    };
    const good = await typed(GOOD);
    expect(good.alike).toMatchObject({ word: "alike", goodBoards: 0, points: LEGS.map((point) => ({ point })) });
    await runProgram(["job", "result", good.job ?? "", "passed", ...data]);
    const bad = await typed(GOOD.map((value, index) => (index === 3 ? 0.455 : value)));
    expect(bad.alike).toMatchObject({ word: "one-differs", goodBoards: 1 });
    expect(bad.alike?.points.filter((each) => each.differs)).toMatchObject([
      { point: "rx1n", value: 0.455, good: 0.618 },
    ]);
    expect(timesOn(bench.simulation)).toBe(0);
    const report = `${bench.folder.path}/report.html`;
    await runProgram(["job", "report", bad.job ?? "", ...data, "--out", report]);
    expect(await readFile(report, "utf8")).toMatch(/1 of 8 points of lanes-rx stand out/);
    const diagnosis = await runProgram(["diagnose", "--job", bad.job ?? "", "--board", board, ...data, "--json"]);
    expect(JSON.parse(diagnosis.out)).toMatchObject({ readings: { checks: { lanes: "one-differs" } } });
  } finally {
    await bench.close();
  }
});

test("a group that the board file does not have, or parts of a board that is off: exit 2, nothing touched", async () => {
  const bench = await poweredBench({ scenario: "normal" });
  try {
    const unknown = await runProgram(["sweep", ...bench.args, "--group", "lanes-up"]);
    expect([unknown.code, unknown.err]).toEqual([2, expect.stringMatching(/"lanes-up".*lanes-rx, lanes-tx/)]);
    const cold = await runProgram(["sweep", ...bench.args, "--cold", "--across"]);
    expect([cold.code, cold.err]).toEqual([2, expect.stringContaining("--across cannot be used with --cold")]);
    expect(timesOn(bench.simulation)).toBe(0);
  } finally {
    await bench.close();
  }
});
