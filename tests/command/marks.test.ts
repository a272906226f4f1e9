import { readFile } from "node:fs/promises";
import { afterAll, beforeAll, expect, test } from "vitest";
import { loadScenario } from "../../src/simulator/load-scenario.ts";
import { endedInTime, type PoweredBench, poweredBench } from "./powered-bench.ts";
import { endPrograms, runProgram, startProgram } from "./run-program.ts";

/** A board that comes up by a key: the simulated one has its rails at once, so that the key changes nothing. */
const STATES = {
  plugged: { after: "the adapter is plugged in", up: ["12v", "5v"] },
  on: { after: "the power key is pressed", up: ["3v3", "1v8", "core", "clock"] },
};

const ASKED = /When you do it, type "key" and press Enter: the power key is pressed/;
let bench: PoweredBench;
beforeAll(async () => {
  const { scenario, board } = await loadScenario("single-feed");
  if (board === null) throw new Error("the scenario has a board");
  bench = await poweredBench({ scenario: { ...scenario, board: { ...board, states: STATES } } });
}, 60_000);
afterAll(async () => {
  await endPrograms();
  await bench.close();
});

test("a key pressed while the board is watched is an event of the run, of its verdict, of the report and of the diagnosis", async () => {
  const { out, err } = await endedInTime(async () => {
    const run = startProgram(["powerup", ...bench.args, "--watch", "6", "--json"], { keepsInput: true });
    await run.until("err", ASKED).then(
      () => run.child.stdin.write("key\nmark freeze spray on L4\nnonsense\n"),
      // It ended before: why is in its document.
      () => undefined,
    );
    return run.ended;
  });
  expect(err).toMatch(ASKED);
  expect(err).toMatch(/Filed: the power key is pressed\.\nFiled: freeze spray on L4\.\n"nonsense" is not understood/);
  const document = JSON.parse(out);
  expect(document).toMatchObject({ output: "off", trip: null });
  const because = document.because.join("\n");
  expect(because).toMatch(/At [\d.]+ m?s a person noted "the power key is pressed"/);
  expect(because).toMatch(/At [\d.]+ m?s a person noted "freeze spray on L4"/);
  const data = `${bench.folder.path}/data`;
  const shown = JSON.parse((await runProgram(["job", "show", document.job, "--data", data, "--json"])).out);
  const marks = shown.log.flatMap((each: { event: { kind: string; events?: { event: string }[] } }) =>
    each.event.kind === "run-events" ? (each.event.events ?? []).filter((of) => of.event === "mark") : [],
  );
  expect(marks).toMatchObject([
    { text: "the power key is pressed", state: "on" },
    { text: "freeze spray on L4", state: null },
  ]);
  const diagnosed = JSON.parse((await runProgram(["diagnose", "--job", document.job, "--data", data, "--json"])).out);
  expect(diagnosed.readings.state).toBe("on");
  const report = `${bench.folder.path}/report.html`;
  await runProgram(["job", "report", document.job, "--out", report, "--data", data]);
  expect(await readFile(report, "utf8")).toContain("the power key is pressed");
}, 180_000);
