import { spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, relative } from "node:path";

const LINES_OF_A_FAILURE = 12;

/** Each failed test by file and name, with the first lines of what it said. */
function namedFailures(report, cwd) {
  return (report?.testResults ?? []).flatMap((file) =>
    file.assertionResults
      .filter((each) => each.status === "failed")
      .map((each) => {
        const said = (each.failureMessages ?? []).join("\n").split("\n").slice(0, LINES_OF_A_FAILURE).join("\n    ");
        return `${relative(cwd, file.name)}: ${each.fullName}\n    ${said}`;
      }),
  );
}

/**
 * Runs vitest in a checkout and counts from its own report. A skipped or unfinished test counts as failed, as does a
 * file that could not be loaded, an error outside of any test, and a run without tests. `notes` says which; `failures`
 * names the failed tests, `files` counts them by file.
 */
export function runVitest({ cwd, args = [], node = process.execPath, env = process.env }) {
  const folder = mkdtempSync(join(tmpdir(), "firstamp-report-"));
  const file = join(folder, "report.json");
  const reporters = ["--reporter=default", "--reporter=json", `--outputFile.json=${file}`];
  const { status } = spawnSync(node, ["node_modules/vitest/vitest.mjs", "run", ...reporters, ...args], {
    cwd,
    env,
    stdio: ["ignore", "inherit", "inherit"],
  });
  const notes = [];
  let report = null;
  try {
    report = JSON.parse(readFileSync(file, "utf8"));
  } catch {
    notes.push("the test runner left no report");
  }
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
  const files = (report?.testResults ?? []).map((each) => ({
    file: relative(cwd, each.name),
    passed: each.assertionResults.filter(({ status }) => status === "passed").length,
    failed: each.assertionResults.filter(({ status }) => status !== "passed").map(({ fullName }) => fullName),
    loaded: each.status === "passed" || each.assertionResults.length > 0,
  }));
  return { passed, failed, notes, failures: namedFailures(report, cwd), files };
}
