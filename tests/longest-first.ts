import { relative } from "node:path";
import { BaseSequencer, type TestSpecification } from "vitest/node";

/** Files that take long, with their seconds beside the others of their group on two processors; a file that is not here takes less than 10 s. */
const SECONDS: Readonly<Record<string, number>> = {
  "tests/command/whole-jobs.test.ts": 104,
  "tests/shop/kills.test.ts": 80,
  "tests/command/past-the-rails.test.ts": 74,
  "tests/command/hostile-names.test.ts": 69,
  "tests/command/first-use.test.ts": 57,
  "tests/command/powerup-contract.test.ts": 52,
  "tests/command/installed.test.ts": 41,
  "tests/command/serve-tasks.test.ts": 40,
  "tests/command/serve-trouble.test.ts": 31,
  "tests/bench/matrix-pty.test.ts": 30,
  "tests/command/sweep.test.ts": 30,
  "tests/command/soak-margin-inject.test.ts": 29,
  "tests/command/serve-by-hand.test.ts": 28,
  "tests/command/other-systems.test.ts": 26,
  "tests/command/bad-links.test.ts": 23,
  "tests/command/terminal.test.ts": 23,
  "tests/command/serve.test.ts": 20,
  "tests/command/use.test.ts": 18,
  "tests/faults/catalogue-pty-wire.test.ts": 18,
  "tests/instrument/supply.test.ts": 17,
  "tests/faults/catalogue-pty-bench.test.ts": 16,
  "tests/command/hostile-drivers.test.ts": 15,
  "tests/command/hostile-files.test.ts": 15,
  "tests/instrument/meter.test.ts": 14,
  "tests/job/durability.test.ts": 14,
  "tests/command/reads-while-on.test.ts": 13,
  "tests/bench/matrix-plain-tcp.test.ts": 17,
  "tests/bench/start-study-middle.test.ts": 12,
  "tests/faults/catalogue-tcp.test.ts": 12,
  "tests/shop/roles.test.ts": 10,
  "tests/daemon/sweep-desk.test.ts": 17,
  "tests/bench/start-study-low.test.ts": 15,
  "tests/bench/start-study-high.test.ts": 13,
  "tests/bench/interleavings-1.test.ts": 13,
  "tests/bench/interleavings-2.test.ts": 13,
  "tests/bench/interleavings-3.test.ts": 13,
  "tests/bench/interleavings-4.test.ts": 13,
  "tests/bench/matrix-channel-list-tcp.test.ts": 13,
  "tests/bench/matrix-numbered-tcp.test.ts": 13,
  "tests/bench/matrix-selection-tcp.test.ts": 13,
  "tests/reference/practice.test.ts": 11,
  "tests/faults/soak.test.ts": 32,
  "tests/faults/network-cut.test.ts": 12,
  "tests/browser/past-the-rails.test.ts": 76,
  "tests/browser/page-truth.test.ts": 58,
  "tests/browser/page-pictures.test.ts": 55,
  "tests/browser/page-setup.test.ts": 45,
  "tests/browser/page-german.test.ts": 38,
  "tests/browser/page-help.test.ts": 28,
  "tests/browser/page-whole.test.ts": 26,
  "tests/browser/page-cycles.test.ts": 25,
  "tests/browser/page-small.test.ts": 24,
  "tests/browser/page-run.test.ts": 21,
  "tests/browser/real-bench.test.ts": 20,
  "tests/browser/firefox.test.ts": 17,
  "tests/browser/page-watch.test.ts": 17,
  "tests/browser/page-live.test.ts": 15,
  "tests/browser/page-probe.test.ts": 14,
  "tests/browser/page-cut.test.ts": 12,
  "tests/browser/page-phone.test.ts": 11,
  "tests/browser/page-start.test.ts": 11,
  "tests/browser/page-set-once.test.ts": 10,
};

/** A file that is not above takes about this long. */
const USUAL_SECONDS = 2;
/** Files that mostly wait: for a plan in real time, a process, a server or a pty. The others compute. */
const WAITS = /^tests\/(command|shop|instrument|link|faults)\/|-pty\.test\.ts$/;

/**
 * The order of test files within a group: those that take long begin first, so that none of them is left to run alone at the
 * end; those that wait and those that compute take turns by their time, so that the processors are busy from the beginning to the
 * end. The others follow by project, since files of one project share a process.
 */
export class LongestFirst extends BaseSequencer {
  override async sort(specs: TestSpecification[]): Promise<TestSpecification[]> {
    const order = ({ project }: TestSpecification): number => project.config.sequence.groupOrder ?? 0;
    const fileOf = (spec: TestSpecification): string => relative(this.ctx.config.root, spec.moduleId);
    const seconds = (spec: TestSpecification): number => SECONDS[fileOf(spec)] ?? 0;
    const sorted = [...specs].sort(
      (a, b) =>
        seconds(b) - seconds(a) || a.project.name.localeCompare(b.project.name) || a.moduleId.localeCompare(b.moduleId),
    );
    const orders = [...new Set(sorted.map(order))].sort((a, b) => a - b);
    return orders.flatMap((each) => {
      const group = sorted.filter((spec) => order(spec) === each);
      const waits = (spec: TestSpecification): boolean => WAITS.test(fileOf(spec));
      return inTurns(
        group.filter(waits),
        group.filter((spec) => !waits(spec)),
        (spec) => seconds(spec) || USUAL_SECONDS,
      );
    });
  }
}

/** Both lists in one, each in its own order: next comes from the list of which the lesser share of the time has been given out. */
function inTurns<T>(one: T[], other: T[], secondsOf: (each: T) => number): T[] {
  const total = (list: T[]): number => list.reduce((sum, each) => sum + secondsOf(each), 0);
  const shares = [one, other].flatMap((list) => {
    const all = total(list);
    let given = 0;
    return list.map((each) => {
      const share = given / all;
      given += secondsOf(each);
      return { each, share };
    });
  });
  return shares.sort((a, b) => a.share - b.share).map(({ each }) => each);
}
