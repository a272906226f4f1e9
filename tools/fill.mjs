import { spawnSync } from "node:child_process";
import { join } from "node:path";
import { root } from "./root.mjs";

// Makes a record of invented jobs: `npm run fill -- --jobs N --data DIR`. The program's own code files them, on a fresh build.
const built = spawnSync(process.execPath, [join("tools", "build.mjs"), "--if-stale"], { cwd: root, stdio: "inherit" });
if (built.status !== 0) process.exit(built.status ?? 1);
const { fill } = await import("./fill-record.mjs");

function option(name) {
  const at = process.argv.indexOf(`--${name}`);
  return at === -1 ? undefined : process.argv[at + 1];
}

const jobs = Number(option("jobs"));
const data = option("data");
if (!Number.isInteger(jobs) || jobs < 1 || data === undefined) {
  process.stderr.write("firstamp: say how many jobs and where: npm run fill -- --jobs 10000 --data DIR\n");
  process.exit(2);
}
const began = performance.now();
const { captures } = await fill({ jobs, data });
const seconds = (performance.now() - began) / 1000;
process.stdout.write(`${jobs} jobs with ${captures} captures in ${data}, in ${seconds.toFixed(0)} s\n`);
