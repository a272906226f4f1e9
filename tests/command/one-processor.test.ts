import { readFileSync } from "node:fs";
import { expect, test } from "vitest";
import type { RunDocument } from "../../src/daemon/run/run-document.ts";
import { despiteBusyMachine, poweredBench } from "./powered-bench.ts";
import { startProgram } from "./run-program.ts";

/** The last processor this process may use. */
const processor = /Cpus_allowed_list:.*?(\d+)$/m.exec(readFileSync("/proc/self/status", "utf8"))?.[1] ?? "0";

// The bench process and its guardian run in real time: a helper thread of theirs that never gets a turn there would keep the
// main thread waiting, and the guardian would end it as one that hangs.
test("a power-up with all three processes on one processor runs to its planned end", async () => {
  const bench = await poweredBench({ scenario: "single-feed" });
  const run = async () => {
    const { code, out, err } = await startProgram(["powerup", "--json", ...bench.args], {
      under: ["taskset", "-c", processor],
    }).ended;
    return { code, err, document: JSON.parse(out) as RunDocument };
  };
  try {
    const { code, err, document } = await despiteBusyMachine(run, ({ document: { trip } }) =>
      trip?.board === false ? trip.rule : null,
    );
    expect(document, err).toMatchObject({ ended: "as-planned", output: "off", trip: null });
    expect(code).toBe(0);
  } finally {
    await bench.close();
  }
});
