import { afterAll, expect, it } from "vitest";
import { databasePath } from "../../src/job/database/database-path.ts";
import { openDatabase } from "../../src/job/database/sqlite-engine.ts";
import { type PoweredBench, poweredBench } from "./powered-bench.ts";
import { runProgram } from "./run-program.ts";

/** Longer than the bench process allows its daemon to be silent, shorter than a commit waits for a locked file. */
const HELD_MS = 2000;

const opened: PoweredBench[] = [];
afterAll(() => Promise.all(opened.map((each) => each.close())));

// A disk that takes long over a commit looks the same to the program, and cannot be had on every machine.
it("goes on with a run while another program has the file of the record locked", { timeout: 120_000 }, async () => {
  const bench = await poweredBench({ scenario: "core-alive" });
  opened.push(bench);
  const run = bench.powerup("--json");
  await run.until("err", /rise: waiting/);
  const other = openDatabase(databasePath(`${bench.folder.path}/data`));
  other.exec("begin immediate");
  await new Promise((resolve) => setTimeout(resolve, HELD_MS));
  other.exec("rollback");
  other.close();
  const { code, err } = await run.ended;
  expect(err).not.toContain("silent");
  expect(code, err).toBe(0);
  const list = await runProgram(["job", "list", "--json", "--data", `${bench.folder.path}/data`]);
  expect(JSON.parse(list.out)).toMatchObject({ jobs: [{ runs: 1 }] });
});
