import { expect, test } from "vitest";
import { energise } from "../faults/energised-program.ts";

test("a bench process and its guardian that are killed at once leave nothing on: another bench process cuts", async () => {
  const program = await energise({ transport: "tcp" });
  try {
    const off = program.offAfter(20_000);
    process.kill(program.pids.guardian, "SIGKILL");
    process.kill(program.pids.bench, "SIGKILL");
    // Four seconds for the guardian's word, and a connection; more on a busy machine.
    expect(await off).toBeLessThanOrEqual(15_000);
    expect(await program.ended).toBe(1);
    expect(program.simulation.truth().feeds["in12"]?.output).toBe("off");
  } finally {
    await program.close();
  }
});
