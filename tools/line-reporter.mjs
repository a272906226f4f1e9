import { appendFileSync } from "node:fs";
import { relative } from "node:path";
import { firstLine } from "./failures.mjs";

const seconds = (ms) => `${(ms / 1000).toFixed(1)} s`;

/**
 * A reporter of vitest that prints one line for each file. It tells the command that started vitest of each file that begins, with its
 * part, and that ended, with its time. What failed is printed in full by that command.
 */
export default class LineReporter {
  #root = process.cwd();

  onInit(vitest) {
    this.#root = vitest.config.root;
  }

  onTestModuleStart({ project }) {
    process.send?.({ fileBegun: { part: project.name } });
  }

  onTestModuleEnd(testModule) {
    const tests = [...testModule.children.allTests()];
    const failed = tests.filter((each) => each.result().state === "failed").length;
    for (const each of tests) this.#countRetries(each);
    const { duration } = testModule.diagnostic();
    const file = relative(this.#root, testModule.moduleId);
    process.send?.({ fileEnded: { file, ms: duration } });
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
  }
}
