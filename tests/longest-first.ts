import { relative } from "node:path";
import { BaseSequencer, type TestSpecification } from "vitest/node";

/** Files that take long, with their seconds on two quiet processors; a file that is not here takes less than 10 s. */
const SECONDS: Readonly<Record<string, number>> = {
  "tests/command/whole-jobs.test.ts": 70,
  "tests/shop/kills.test.ts": 55,
  "tests/command/first-use.test.ts": 45,
  "tests/command/hostile-names.test.ts": 45,
  "tests/command/past-the-rails.test.ts": 45,
  "tests/command/powerup-contract.test.ts": 40,
  "tests/command/soak-margin-inject.test.ts": 40,
  "tests/command/use.test.ts": 40,
  "tests/command/installed.test.ts": 35,
  "tests/command/sweep.test.ts": 35,
  "tests/command/serve-trouble.test.ts": 30,
  "tests/command/serve-by-hand.test.ts": 30,
  "tests/command/serve-tasks.test.ts": 30,
  "tests/shop/exchange.test.ts": 30,
  "tests/command/other-systems.test.ts": 25,
  "tests/shop/roles.test.ts": 25,
  "tests/command/hostile-files.test.ts": 25,
  "tests/daemon/sweep-states.test.ts": 20,
  "tests/bench/recorder.test.ts": 20,
  "tests/command/terminal.test.ts": 20,
  "tests/command/serve.test.ts": 20,
  "tests/command/bad-links.test.ts": 20,
  "tests/command/help.test.ts": 18,
  "tests/job/durability.test.ts": 16,
  "tests/job/postgres-record.test.ts": 16,
  "tests/job/sqlite-aside.test.ts": 15,
  "tests/shop/server-faults.test.ts": 15,
  "tests/bench/matrix-pty.test.ts": 16,
  "tests/command/sweep-groups.test.ts": 15,
  "tests/command/lead-ohms.test.ts": 15,
  "tests/instrument/supply.test.ts": 15,
  "tests/instrument/meter.test.ts": 14,
  "tests/shop/cuts.test.ts": 14,
  "tests/command/hostile-drivers.test.ts": 13,
  "tests/command/marks.test.ts": 12,
  "tests/browser/page-truth.test.ts": 40,
  "tests/browser/page-setup.test.ts": 40,
  "tests/browser/page-run.test.ts": 25,
  "tests/browser/page-start.test.ts": 25,
};

/**
 * The order of test files within a group: those that take long begin first, so that none of them is left to run alone at the
 * end. The others follow by project, since files of one project share a process.
 */
export class LongestFirst extends BaseSequencer {
  override async sort(specs: TestSpecification[]): Promise<TestSpecification[]> {
    const order = ({ project }: TestSpecification): number => project.config.sequence.groupOrder ?? 0;
    const seconds = (spec: TestSpecification): number => SECONDS[relative(this.ctx.config.root, spec.moduleId)] ?? 0;
    return [...specs].sort(
      (a, b) =>
        order(a) - order(b) ||
        seconds(b) - seconds(a) ||
        a.project.name.localeCompare(b.project.name) ||
        a.moduleId.localeCompare(b.moduleId),
    );
  }
}
