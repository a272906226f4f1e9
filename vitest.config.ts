import { defineConfig } from "vitest/config";

const parts = {
  // Nothing but functions: no process, no clock.
  pure: { folders: ["scpi", "plan", "sweep", "analysis", "verdict", "shared"], order: 0, workers: 2, testMs: 20_000 },
  link: { folders: ["link", "instrument", "simulator", "reading"], order: 1, workers: 2, testMs: 30_000 },
  bench: {
    folders: ["bench", "daemon", "guardian", "command", "wire", "web"],
    order: 1,
    workers: 2,
    testMs: 60_000,
  },
  house: { folders: ["house"], order: 1, workers: 2, testMs: 60_000 },
  record: { folders: ["job", "host", "capture", "shop"], order: 1, workers: 2, testMs: 60_000 },
  reference: { folders: ["reference", "study"], order: 1, workers: 2, testMs: 120_000 },
  // The faults on a clock set by hand.
  faults: { folders: ["faults"], order: 2, workers: 2, testMs: 120_000 },
  // One at a time: these watch reaction times, which a busy neighbour would falsify.
  processes: { folders: ["faults"], order: 3, workers: 1, testMs: 120_000 },
  browser: { folders: ["browser"], order: 4, workers: 2, testMs: 120_000 },
};

/** Those of tests/faults that watch real processes in real time. */
const REAL_TIME = [
  "nuisance",
  "network-cut",
  "off-program",
  "process-deaths",
  "process-troubles",
  "real-time",
  "soak",
  "trip-latency",
].map((name) => `tests/faults/${name}.test.ts`);
const ofProject: Record<string, { include?: string[]; exclude?: string[] }> = {
  faults: { exclude: REAL_TIME },
  processes: { include: REAL_TIME },
};

export default defineConfig({
  test: {
    pool: "forks",
    allowOnly: false,
    passWithNoTests: false,
    projects: Object.entries(parts).map(([name, { folders, order, workers, testMs }]) => ({
      test: {
        name,
        include: folders.map((folder) => `tests/${folder}/**/*.test.ts`),
        ...ofProject[name],
        pool: "forks" as const,
        maxWorkers: workers,
        sequence: { groupOrder: order },
        testTimeout: testMs,
        hookTimeout: testMs,
        teardownTimeout: 10_000,
      },
    })),
  },
});
