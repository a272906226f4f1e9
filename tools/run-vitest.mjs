import { spawn } from "node:child_process";
import { randomUUID } from "node:crypto";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, relative } from "node:path";
import { failuresOf } from "./failures.mjs";
import { endLeftOver } from "./left-over.mjs";
import { giveWay } from "./low-priority.mjs";

/**
 * Runs vitest in a checkout and counts from its own report. A skipped or unfinished test counts as failed, as does a
 * file that could not be loaded, an error outside of any test, a run without tests, and a process that outlives it. `notes`
 * says which; `failures` names the failed tests with what they said, `files` counts them by file. `runs` counts runs in
 * real time, `doneAgain` says why some of them were done again. `took` has each file that ended with its milliseconds.
 * `onPart` is called as each file begins, with the name of its part of the tests. Where it `givesWay`, all else that runs comes first.
 */
export async function runVitest({
  cwd,
  args = [],
  node = process.execPath,
  env = process.env,
  onPart = () => undefined,
  givesWay = false,
}) {
  const folder = mkdtempSync(join(tmpdir(), "firstamp-report-"));
  const file = join(folder, "report.json");
  const runsFile = join(folder, "runs.jsonl");
  writeFileSync(runsFile, "");
  const reporters = ["--reporter=./tools/line-reporter.mjs", "--reporter=./tools/report-file.mjs"];
  // Every process that the tests start has this in its environment.
  const mark = `FIRSTAMP_TEST_RUN=${randomUUID()}`;
  const took = [];
  const [markName, markValue] = mark.split("=");
  // Each start of Node reads a network's own certificates for a twentieth of a second; only the test that runs npm needs them.
  const { NODE_EXTRA_CA_CERTS: certificates = "", ...bare } = env;
  const status = await new Promise((done) => {
    const child = spawn(node, ["node_modules/vitest/vitest.mjs", "run", ...reporters, ...args], {
      cwd,
      env: {
        ...bare,
        FIRSTAMP_NPM_CERTIFICATES: certificates,
        FIRSTAMP_REPORT_FILE: file,
        FIRSTAMP_RUNS_FILE: runsFile,
        [markName]: markValue,
      },
      stdio: ["ignore", "inherit", "inherit", "ipc"],
    });
    if (givesWay) giveWay(child);
    child.on("message", ({ fileBegun, fileEnded }) => {
      if (fileBegun !== undefined) onPart(fileBegun.part);
      if (fileEnded !== undefined) took.push(fileEnded);
    });
    child.once("error", () => done(null));
    child.once("close", done);
  });
  const notes = [];
  const left = await endLeftOver(mark);
  for (const each of left) notes.push(`left running, which counts as failed: ${each}`);
  let report = null;
  try {
    report = JSON.parse(readFileSync(file, "utf8"));
  } catch {
    notes.push("the test runner left no report");
  }
  const runs = readFileSync(runsFile, "utf8")
    .split("\n")
    .filter((line) => line !== "")
    .map((line) => JSON.parse(line));
  rmSync(folder, { recursive: true, force: true });
  const passed = report?.numPassedTests ?? 0;
  const skipped = (report?.numPendingTests ?? 0) + (report?.numTodoTests ?? 0);
  const unloaded = (report?.testResults ?? []).filter(
    (each) => each.status === "failed" && each.assertionResults.length === 0,
  );
  for (const each of unloaded) notes.push(`${each.name} could not be loaded`);
  if (skipped > 0) notes.push(`${skipped} skipped, which counts as failed`);
  let failed = (report?.numFailedTests ?? 0) + skipped + unloaded.length;
  if (passed + failed === 0) {
    notes.push("no test ran");
    failed = 1;
  } else if (status !== 0 && failed === 0) {
    notes.push("an error outside of any test");
    failed = 1;
  }
  failed += left.length;
  const files = (report?.testResults ?? []).map((each) => ({
    file: relative(cwd, each.name),
    passed: each.assertionResults.filter(({ status }) => status === "passed").length,
    failed: each.assertionResults.filter(({ status }) => status !== "passed").map(({ fullName }) => fullName),
    loaded: each.status === "passed" || each.assertionResults.length > 0,
  }));
  const doneAgain = runs.flatMap((each) => (each.doneAgain === null ? [] : [each.doneAgain]));
  return { passed, failed, notes, failures: failuresOf(report, cwd), files, took, runs: runs.length, doneAgain };
}
