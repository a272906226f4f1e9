import { appendFileSync } from "node:fs";
import { relative } from "node:path";
import { firstLine } from "./failures.mjs";

const seconds = (ms) => `${(ms / 1000).toFixed(1)} s`;
const SLOWEST = 10;

/**
 * A reporter of vitest that prints one line for each file and, at the end, the slowest ten. What failed is printed in
 * full by the command that started vitest. What tests print themselves is not shown.
 */
export default class LineReporter {
  #files = [];
  #begun = new Set();
  #root = process.cwd();

  onInit(vitest) {
    this.#root = vitest.config.root;
  }

  /** Tells the command that started vitest when the first file of a part begins. */
  onTestModuleStart({ project }) {
    if (this.#begun.has(project.name)) return;
    this.#begun.add(project.name);
    process.send?.({ partBegun: project.name });
  }

  onTestModuleEnd(testModule) {
    const tests = [...testModule.children.allTests()];
    const failed = tests.filter((each) => each.result().state === "failed").length;
    for (const each of tests) this.#countRetries(each);
    const { duration } = testModule.diagnostic();
    const file = relative(this.#root, testModule.moduleId);
    this.#files.push({ file, duration });
    const bad = failed > 0 || testModule.state() === "failed";
    const count = bad ? `${failed} of ${tests.length} failed` : `${tests.length} tests`;
    process.stdout.write(`${bad ? "FAILED" : "ok    "} ${file} (${count}, ${seconds(duration)})\n`);
  }

  /** A test that was tried again is counted with the runs that were done again, with what its first try said. */
  #countRetries(test) {
    const file = process.env.FIRSTAMP_RUNS_FILE;
    const tries = test.diagnostic()?.retryCount ?? 0;
    if (file === undefined) return;
    const errors = test.result().errors ?? [];
    for (let each = 0; each < tries; each++) {
      const said = firstLine(errors[each]?.message ?? "");
      appendFileSync(file, `${JSON.stringify({ doneAgain: `the test "${test.fullName}": ${said}` })}\n`);
    }
  }

  onTestRunEnd(_modules, unhandledErrors) {
    for (const error of unhandledErrors)
      process.stdout.write(`error outside of any test: ${error.stack ?? error.message}\n`);
    const slowest = this.#files.sort((one, other) => other.duration - one.duration).slice(0, SLOWEST);
    process.stdout.write("slowest files:\n");
    for (const { file, duration } of slowest) process.stdout.write(`  ${seconds(duration).padStart(8)}  ${file}\n`);
  }
}
