import { availableParallelism } from "node:os";
import { defineConfig } from "vitest/config";
import { LongestFirst } from "./tests/longest-first.ts";
import pureFolders from "./tools/pure-folders.json" with { type: "json" };

/** More files at once than there are processors: many of them wait, for a plan in real time or for a process that starts. */
const AT_ONCE = Math.min(8, availableParallelism() + 2);

const inFaults = (name: string): string => `tests/faults/${name}.test.ts`;
/** Test files that watch real processes in real time, for long. */
const WATCHING = ["network-cut", "soak", "trip-latency"].map(inFaults);
/** Test files that strike real processes, or keep every processor busy. */
const STRUCK = ["nuisance", "process-deaths", "process-troubles", "real-time"].map(inFaults);

/** Test files that only compute: no link, no process, nothing in real time. They may wait for a processor, for up to `PATIENCE_MS`. */
const PATIENT = [
  ...pureFolders.map((folder) => `tests/${folder}/**/*.test.ts`),
  "tests/bench/interleavings-*.test.ts",
  ...["reference/practice", "study/scenarios"].map((name) => `tests/${name}.test.ts`),
];

interface Part {
  include: string[];
  exclude?: string[];
  workers: number;
  /** Whether each file has a process that nothing before it has touched. Others share one, one after the other: it loads the sources once. */
  isolate: boolean;
  /** After this long a test is taken to hang. */
  hangsMs?: number;
}

const HANGS_MS = 120_000;
/** Tests at low priority may wait for minutes while others use every processor. */
const PATIENCE_MS = 900_000;

/** They run one after the other, in this order. */
const parts: Record<string, Part> = {
  together: {
    include: ["tests/**/*.test.ts"],
    exclude: [...PATIENT, ...WATCHING, ...STRUCK],
    workers: AT_ONCE,
    isolate: false,
  },
  // One at a time: these watch reaction times, which a busy neighbour would falsify.
  processes: { include: STRUCK, workers: 1, isolate: true },
  // Two at a time: each of them uses half of a processor.
  watches: { include: WATCHING, workers: 2, isolate: true },
  // `npm test` runs these beside those two parts, at low priority.
  patient: { include: PATIENT, workers: 2, isolate: false, hangsMs: PATIENCE_MS },
};

export default defineConfig({
  test: {
    pool: "forks",
    allowOnly: false,
    passWithNoTests: false,
    sequence: { sequencer: LongestFirst },
    projects: Object.entries(parts).map(([name, { workers, hangsMs = HANGS_MS, ...files }], place) => ({
      test: {
        name,
        ...files,
        setupFiles: ["tests/usual-priority.ts"],
        pool: "forks" as const,
        maxWorkers: workers,
        sequence: { groupOrder: place },
        testTimeout: hangsMs,
        hookTimeout: hangsMs,
        teardownTimeout: 10_000,
      },
    })),
  },
});
