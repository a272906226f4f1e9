import { availableParallelism } from "node:os";
import { defineConfig } from "vitest/config";
import { LongestFirst } from "./tests/longest-first.ts";

/** More files at once than there are processors: many of them wait, for a plan in real time or for a process that starts. */
const AT_ONCE = Math.min(8, availableParallelism() + 1);

/** Groups run one after the other, by `order`; the parts of a group run together. */
const parts = {
  // Nothing but functions: no process, no clock.
  pure: {
    folders: ["scpi", "plan", "sweep", "analysis", "verdict", "shared"],
    order: 0,
    workers: AT_ONCE,
    testMs: 30_000,
  },
  link: { folders: ["link", "instrument", "simulator", "reading"], order: 0, workers: AT_ONCE, testMs: 30_000 },
  bench: {
    folders: ["bench", "daemon", "guardian", "command", "wire", "web"],
    order: 0,
    workers: AT_ONCE,
    testMs: 60_000,
  },
  house: { folders: ["house"], order: 0, workers: AT_ONCE, testMs: 60_000 },
  record: { folders: ["job", "host", "capture", "shop"], order: 0, workers: AT_ONCE, testMs: 60_000 },
  reference: { folders: ["reference", "study"], order: 0, workers: AT_ONCE, testMs: 120_000 },
  // The faults on a clock set by hand.
  faults: { folders: ["faults"], order: 0, workers: AT_ONCE, testMs: 120_000 },
  // One at a time: these watch reaction times, which a busy neighbour would falsify.
  processes: { folders: ["faults"], order: 1, workers: 1, testMs: 120_000 },
  // Two at a time: each has one processor, and uses half of it.
  watches: { folders: ["faults"], order: 2, workers: 2, testMs: 120_000 },
  browser: { folders: ["browser"], order: 3, workers: 3, testMs: 120_000 },
};

/** Files of these have a process each, which nothing before them has touched. */
const HAS_OWN_PROCESS = new Set(["processes", "watches"]);

const inFaults = (name: string): string => `tests/faults/${name}.test.ts`;
/** Test files that watch real processes in real time, for long and with little to do. */
const WATCHING = ["network-cut", "soak", "trip-latency"].map(inFaults);
/** Test files that strike real processes, or keep every processor busy. */
const STRUCK = ["nuisance", "process-deaths", "process-troubles", "real-time"].map(inFaults);
const ofProject: Record<string, { include?: string[]; exclude?: string[] }> = {
  faults: { exclude: [...WATCHING, ...STRUCK] },
  watches: { include: WATCHING },
  processes: { include: STRUCK },
};

export default defineConfig({
  test: {
    pool: "forks",
    allowOnly: false,
    passWithNoTests: false,
    sequence: { sequencer: LongestFirst },
    projects: Object.entries(parts).map(([name, { folders, order, workers, testMs }]) => ({
      test: {
        name,
        include: folders.map((folder) => `tests/${folder}/**/*.test.ts`),
        ...ofProject[name],
        pool: "forks" as const,
        // Files of the others share a process, one after the other: loading the sources anew for each took a third of their time.
        isolate: HAS_OWN_PROCESS.has(name),
        maxWorkers: workers,
        sequence: { groupOrder: order },
        testTimeout: testMs,
        hookTimeout: testMs,
        teardownTimeout: 10_000,
      },
    })),
  },
});
