import { relative } from "node:path";
import { BaseSequencer, type TestSpecification } from "vitest/node";

/** Files that mostly wait, for a plan in real time, a process, a pty, a server or a browser, with their seconds beside the others on two processors. */
const WAITING: Readonly<Record<string, number>> = {
  "tests/browser/past-the-rails.test.ts": 107,
  "tests/command/past-the-rails.test.ts": 99,
  "tests/bench/matrix-pty.test.ts": 86,
  "tests/command/whole-jobs.test.ts": 72,
  "tests/command/serve-trouble.test.ts": 56,
  "tests/command/installed.test.ts": 53,
  "tests/command/serve-tasks.test.ts": 52,
  "tests/command/serve-by-hand.test.ts": 51,
  "tests/command/powerup-contract.test.ts": 49,
  "tests/command/first-use.test.ts": 48,
  "tests/browser/page-truth.test.ts": 48,
  "tests/command/hostile-names.test.ts": 47,
  "tests/browser/page-setup.test.ts": 47,
  "tests/command/hostile-files.test.ts": 39,
  "tests/shop/kills.test.ts": 38,
  "tests/command/terminal.test.ts": 38,
  "tests/browser/page-pictures.test.ts": 38,
  "tests/command/sweep.test.ts": 36,
  "tests/faults/soak.test.ts": 32,
  "tests/browser/page-german.test.ts": 32,
  "tests/command/use.test.ts": 31,
  "tests/browser/page-small.test.ts": 31,
  "tests/command/soak-margin-inject.test.ts": 30,
  "tests/browser/real-bench.test.ts": 30,
  "tests/browser/page-cycles.test.ts": 30,
  "tests/browser/page-help.test.ts": 30,
  "tests/command/other-systems.test.ts": 29,
  "tests/faults/catalogue-pty-wire.test.ts": 29,
  "tests/command/serve.test.ts": 28,
  "tests/command/bad-links.test.ts": 28,
  "tests/browser/firefox.test.ts": 25,
  "tests/browser/page-widths.test.ts": 25,
  "tests/faults/catalogue-pty-bench.test.ts": 23,
  "tests/faults/real-time.test.ts": 20,
  "tests/browser/page-whole.test.ts": 20,
  "tests/command/hostile-drivers.test.ts": 19,
  "tests/job/durability.test.ts": 17,
  "tests/command/reads-while-on.test.ts": 16,
  "tests/shop/cuts.test.ts": 16,
  "tests/browser/page-run.test.ts": 16,
  "tests/instrument/meter.test.ts": 14,
  "tests/shop/exchange.test.ts": 14,
  "tests/faults/off-program.test.ts": 13,
  "tests/browser/page-watch.test.ts": 13,
  "tests/faults/network-cut.test.ts": 12,
  "tests/browser/page-answers.test.ts": 12,
  "tests/command/recorder.test.ts": 11,
  "tests/browser/page-probe.test.ts": 11,
  "tests/shop/during-a-run.test.ts": 10,
  "tests/command/marks.test.ts": 10,
  "tests/instrument/supply.test.ts": 10,
  "tests/browser/page-start.test.ts": 10,
  "tests/browser/page-plot.test.ts": 10,
  "tests/browser/page-board.test.ts": 10,
  "tests/shop/roles.test.ts": 9,
  "tests/instrument/late-replies.test.ts": 9,
  "tests/shop/live.test.ts": 8,
  "tests/command/sweep-groups.test.ts": 8,
  "tests/command/serve-phone.test.ts": 8,
  "tests/command/record-held.test.ts": 8,
  "tests/browser/page-live.test.ts": 8,
  "tests/instrument/session.test.ts": 7,
  "tests/daemon/lost-twice.test.ts": 7,
  "tests/command/lead-ohms.test.ts": 7,
  "tests/instrument/supply-off.test.ts": 7,
  "tests/shop/background.test.ts": 6,
  "tests/command/filed-cold.test.ts": 6,
  "tests/command/bad-files.test.ts": 5,
  "tests/shop/server-faults.test.ts": 4,
  "tests/command/one-processor.test.ts": 4,
  "tests/command/null-leads.test.ts": 4,
  "tests/faults/line-losses.test.ts": 3,
  "tests/command/help.test.ts": 3,
};
/** Files that compute, with the processor's seconds. */
const COMPUTING: Readonly<Record<string, number>> = {
  "tests/bench/matrix-plain-tcp.test.ts": 20,
  "tests/daemon/sweep-desk.test.ts": 18,
  "tests/faults/catalogue-tcp.test.ts": 16,
  "tests/bench/start-study-low.test.ts": 14,
  "tests/reference/practice.test.ts": 10,
  "tests/bench/interleavings-4.test.ts": 9,
  "tests/bench/interleavings-1.test.ts": 9,
  "tests/bench/interleavings-3.test.ts": 9,
  "tests/verdict/chip-running.test.ts": 9,
  "tests/bench/interleavings-2.test.ts": 9,
  "tests/study/linear-time.test.ts": 8,
  "tests/bench/start-study-high.test.ts": 8,
  "tests/bench/matrix-selection-tcp.test.ts": 8,
  "tests/bench/matrix-channel-list-tcp.test.ts": 8,
  "tests/bench/start-study-middle.test.ts": 7,
  "tests/bench/recorder-buffer.test.ts": 7,
  "tests/bench/matrix-numbered-tcp.test.ts": 7,
  "tests/study/scenarios.test.ts": 6,
  "tests/capture/points.test.ts": 6,
  "tests/reference/ngspice-classify.test.ts": 5,
  "tests/job/postgres-record.test.ts": 5,
  "tests/faults/recorder.test.ts": 5,
  "tests/faults/mutations.test.ts": 5,
  "tests/daemon/sweep-groups.test.ts": 5,
  "tests/wire/abuse.test.ts": 4,
  "tests/job/sqlite-aside.test.ts": 4,
  "tests/job/job-store.test.ts": 4,
  "tests/daemon/sweep-states.test.ts": 4,
  "tests/job/archive.test.ts": 3,
  "tests/capture/chunks.test.ts": 3,
  "tests/bench/recorder.test.ts": 3,
  "tests/job/archive-refusals.test.ts": 2,
  "tests/wire/phone.test.ts": 2,
  "tests/verdict/diagnosis.test.ts": 2,
  "tests/job/board-knowledge.test.ts": 2,
};
/** A file of neither table computes for about this long. */
const USUAL_SECONDS = 0.5;

/**
 * The order of test files within a group: those that take long begin first, so that none of them is left to run alone at the
 * end; those that wait and those that compute take turns by their time, so that the processors are busy from the beginning to the
 * end.
 */
export class LongestFirst extends BaseSequencer {
  override async sort(specs: TestSpecification[]): Promise<TestSpecification[]> {
    const fileOf = (spec: TestSpecification): string => relative(this.ctx.config.root, spec.moduleId);
    const order = ({ project }: TestSpecification): number => project.config.sequence.groupOrder ?? 0;
    const waited = (spec: TestSpecification): number | undefined => WAITING[fileOf(spec)];
    const seconds = (spec: TestSpecification): number => waited(spec) ?? COMPUTING[fileOf(spec)] ?? USUAL_SECONDS;
    const sorted = [...specs].sort((a, b) => seconds(b) - seconds(a) || a.moduleId.localeCompare(b.moduleId));
    const orders = [...new Set(sorted.map(order))].sort((a, b) => a - b);
    return orders.flatMap((each) => {
      const group = sorted.filter((spec) => order(spec) === each);
      const isWaiting = (spec: TestSpecification): boolean => waited(spec) !== undefined;
      return inTurns(
        group.filter(isWaiting),
        group.filter((spec) => !isWaiting(spec)),
        seconds,
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
