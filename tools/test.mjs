import { spawnSync } from "node:child_process";
import { testOnNode24 } from "./node24.mjs";
import { root } from "./root.mjs";
import { runVitest } from "./run-vitest.mjs";

// Arguments but --node24 go to vitest: `npm test -- --project link`.
const args = process.argv.slice(2).filter((each) => each !== "--node24");
const node24 = process.argv.includes("--node24") || process.env.CI === "true";

const built = spawnSync(process.execPath, ["tools/build.mjs", "--if-stale"], { cwd: root, stdio: "inherit" });
if (built.status !== 0) {
  process.stdout.write("the build failed, no test ran\n0 passed, 1 failed\n");
  process.exit(1);
}

const results = [{ part: "tests", ...runVitest({ cwd: root, args }) }];

const check = spawnSync(process.execPath, ["tools/check.mjs", "--no-tests"], { cwd: root, stdio: "inherit" });
results.push(
  check.status === 0
    ? { part: "check", passed: 1, failed: 0, notes: [] }
    : { part: "check", passed: 0, failed: 1, notes: ["counted as one failed test; see above"] },
);

if (node24) results.push({ part: "Node 24", ...(await testOnNode24()) });

process.stdout.write("\n");
for (const { part, failures = [] } of results) {
  for (const each of failures) process.stdout.write(`failed (${part}) ${each}\n`);
}
for (const { part, passed, failed, notes } of results) {
  process.stdout.write(`${part}: ${passed} passed, ${failed} failed${notes.map((note) => `; ${note}`).join("")}\n`);
}
const sum = (key) => results.reduce((total, each) => total + each[key], 0);
process.stdout.write(`${sum("passed")} passed, ${sum("failed")} failed\n`);
process.exitCode = sum("failed") > 0 ? 1 : 0;
