import { runTask } from "./task-run.ts";
import type { BenchOptions } from "./with-bench.ts";

/** Does one power-up from the command line; answers with the exit code. */
export const powerup = (options: BenchOptions): Promise<number> =>
  runTask(options, { purpose: "powerup", more: () => ({}) });
