import path from "node:path";
import { expect, test } from "vitest";

interface Failure {
  test: string;
  said: string;
}
const { failuresOf, inOne, summaryOf } = (await import(
  path.resolve(import.meta.dirname, "../../tools/failures.mjs")
)) as {
  failuresOf(report: unknown, cwd: string): Failure[];
  inOne<Run>(one: Run, other: Run): Run;
  summaryOf(results: unknown[], tookSeconds: number): string;
};

const stack = (name: string) =>
  `\u001b[31mAssertionError: ${name}, ${"x".repeat(300)}\u001b[39m\n${"    at somewhere\n".repeat(100)}`;
const part = (name: string, failures: Failure[]) => ({
  part: name,
  passed: 5,
  failed: failures.length,
  notes: failures.length === 0 ? [] : ["a note"],
  failures,
  runs: 2,
  doneAgain: ["too slow"],
});

test("the last lines of a run name each failed test with the first line of what it said, before the counts", () => {
  const lines = summaryOf(
    [
      part("tests on Node 20", [
        { test: "tests/link/one.test.ts: first", said: stack("one") },
        { test: "tests/link/two.test.ts: second", said: stack("two") },
      ]),
      part("check", []),
      part("tests on Node 24", [{ test: "tests/link/one.test.ts: first", said: "\n  no port\nmore" }]),
    ],
    12,
  ).split("\n");
  const said = (name: string) => `AssertionError: ${name}, `.padEnd(200, "x");
  expect(lines.slice(-9)).toEqual([
    "runs in real time: 6, done again: 3",
    `failed (tests on Node 20) tests/link/one.test.ts: first: ${said("one")}`,
    `failed (tests on Node 20) tests/link/two.test.ts: second: ${said("two")}`,
    "failed (tests on Node 24) tests/link/one.test.ts: first: no port",
    "tests on Node 20: 5 passed, 2 failed; a note",
    "check: 5 passed, 0 failed",
    "tests on Node 24: 5 passed, 1 failed; a note",
    "12 s in all",
    "15 passed, 3 failed",
  ]);
  // The whole texts come before.
  expect(lines.filter((line) => line.includes("at somewhere"))).toHaveLength(200);
});

test("two runs of one part are counted as one, and the ten slowest files are named, the slowest first", () => {
  const run = (failures: Failure[], took: { file: string; ms: number }[]) => ({
    ...part("tests", failures),
    files: [],
    took,
  });
  const files = Array.from({ length: 9 }, (_, at) => ({ file: `tests/${at}.test.ts`, ms: 1000 * at }));
  const both = inOne(
    run([{ test: "a", said: "no port" }], files),
    run(
      [],
      [
        { file: "tests/late.test.ts", ms: 8500 },
        { file: "tests/short.test.ts", ms: 4 },
      ],
    ),
  );
  const lines = summaryOf([both], 3).split("\n");
  expect(lines[0]).toBe("slowest files:");
  expect(lines.slice(1, 4)).toEqual([
    "     8.5 s  tests/late.test.ts",
    "     8.0 s  tests/8.test.ts",
    "     7.0 s  tests/7.test.ts",
  ]);
  expect(lines[11]).toMatch(/^failed \(tests\) a/);
  expect(lines.slice(-3)).toEqual(["tests: 10 passed, 1 failed; a note", "3 s in all", "10 passed, 1 failed"]);
});

test("a test counts among the failures if it failed or never ran; then its file says why", () => {
  const report = {
    testResults: [
      {
        name: "/checkout/tests/one.test.ts",
        message: "the server did not start",
        assertionResults: [
          { fullName: "passes", status: "passed", failureMessages: [] },
          { fullName: "fails", status: "failed", failureMessages: ["Error: one", "Error: two"] },
          { fullName: "hangs", status: "failed", failureMessages: ["Error: STACK_TRACE_ERROR\n    at here"] },
          { fullName: "never ran", status: "skipped", failureMessages: [] },
        ],
      },
      {
        name: "/checkout/tests/two.test.ts",
        message: "",
        assertionResults: [{ fullName: "is left", status: "todo" }],
      },
    ],
  };
  expect(failuresOf(report, "/checkout")).toEqual([
    { test: "tests/one.test.ts: fails", said: "Error: one\nError: two" },
    { test: "tests/one.test.ts: hangs", said: "Error: stopped, it took longer than it may\n    at here" },
    { test: "tests/one.test.ts: never ran", said: "the server did not start" },
    { test: "tests/two.test.ts: is left", said: "not run: todo" },
  ]);
  expect(failuresOf(null, "/work")).toEqual([]);
});
