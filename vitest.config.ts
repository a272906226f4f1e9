import { defineConfig } from "vitest/config";

const parts = {
  // Nothing but functions: no process, no clock.
  pure: { folders: ["scpi", "plan", "sweep", "analysis", "verdict", "shared"], order: 0, workers: 2, testMs: 20_000 },
  link: { folders: ["link", "instrument", "simulator", "reading"], order: 1, workers: 2, testMs: 30_000 },
  bench: {
    folders: ["bench", "daemon", "guardian", "command", "job", "capture", "wire", "web", "house"],
    order: 1,
    workers: 2,
    testMs: 60_000,
  },
  reference: { folders: ["reference", "study"], order: 1, workers: 2, testMs: 120_000 },
  // One at a time: these watch reaction times, which a busy neighbour would falsify.
  faults: { folders: ["faults"], order: 2, workers: 1, testMs: 120_000 },
  browser: { folders: ["browser"], order: 3, workers: 1, testMs: 120_000 },
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
