import { relative } from "node:path";
import { stripVTControlCharacters } from "node:util";

const LONGEST_LINE = 200;
/** Vitest's report has this in place of the message of a test, or a hook, that took longer than it may. */
const OVERTIME = /\bError: STACK_TRACE_ERROR\b/g;
const SLOWEST = 10;

/**
 * Each test of a report of vitest that did not pass, by file and name, with all that was said about it. One that never ran says what its
 * file said, as of a hook that failed.
 */
export function failuresOf(report, cwd) {
  return (report?.testResults ?? []).flatMap((file) =>
    file.assertionResults
      .filter(({ status }) => status !== "passed")
      .map(({ fullName, status, failureMessages }) => ({
        test: `${relative(cwd, file.name)}: ${fullName}`,
        said:
          (failureMessages ?? []).join("\n").replace(OVERTIME, "Error: stopped, it took longer than it may") ||
          file.message ||
          `not run: ${status}`,
      })),
  );
}

/** The first line of what a failure said that is not empty, at most 200 characters. */
export const firstLine = (said) => {
  const line = stripVTControlCharacters(said)
    .split("\n")
    .map((each) => each.trim())
    .find((each) => each !== "");
  return (line ?? "nothing was said").slice(0, LONGEST_LINE);
};

/** Two runs of tests as one. */
export const inOne = (one, other) => ({
  ...one,
  passed: one.passed + other.passed,
  failed: one.failed + other.failed,
  runs: one.runs + other.runs,
  ...Object.fromEntries(
    ["notes", "failures", "files", "took", "doneAgain"].map((key) => [key, [...one[key], ...other[key]]]),
  ),
});

/** The ten files that took longest, a line each. */
function slowestOf(took) {
  const slowest = [...took].sort((one, other) => other.ms - one.ms).slice(0, SLOWEST);
  return slowest.map(({ file, ms }) => `  ${(ms / 1000).toFixed(1).padStart(6)} s  ${file}`);
}

/**
 * The text printed when all parts have run: the slowest files, the failures with all they said, then what was done again, then each
 * failure in one line, then the counts. A log of which only the last lines are kept so names what failed.
 */
export function summaryOf(results, tookSeconds) {
  const failures = results.flatMap(({ part, failures = [] }) => failures.map((each) => ({ part, ...each })));
  const sum = (key) => results.reduce((total, each) => total + (each[key] ?? 0), 0);
  const doneAgain = results.flatMap((each) => each.doneAgain ?? []);
  const took = results.flatMap((each) => each.took ?? []);
  return [
    ...(took.length === 0 ? [] : ["slowest files:", ...slowestOf(took)]),
    ...failures.map(({ part, test, said }) => `failed (${part}) ${test}\n    ${said.split("\n").join("\n    ")}`),
    ...doneAgain.map((why) => `done again: ${why}`),
    `runs in real time: ${sum("runs")}, done again: ${doneAgain.length}`,
    ...failures.map(({ part, test, said }) => `failed (${part}) ${test}: ${firstLine(said)}`),
    ...results.map(({ part, passed, failed, notes }) =>
      [`${part}: ${passed} passed, ${failed} failed`, ...notes].join("; "),
    ),
    `${tookSeconds} s in all`,
    `${sum("passed")} passed, ${sum("failed")} failed`,
  ].join("\n");
}
