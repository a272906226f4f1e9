import { spawn } from "node:child_process";
import { root } from "./root.mjs";
import { PURE } from "./test-folders.mjs";
import { TSC } from "./tsc.mjs";

const withTests = !process.argv.includes("--no-tests");

const tsc = (config) => ({
  name: `tsc ${config}`,
  args: [...TSC, "-p", config, "--noEmit"],
});
const jobs = [
  {
    name: "biome",
    args: ["node_modules/@biomejs/biome/bin/biome", "check", "--error-on-warnings", "--max-diagnostics=200"],
  },
  { name: "knip", args: ["node_modules/knip/bin/knip.js", "--no-progress"] },
  // What only tests import is no part of the program.
  { name: "knip in production mode", args: ["node_modules/knip/bin/knip.js", "--no-progress", "--production"] },
  tsc("tsconfig.json"),
  tsc("tsconfig.pure.json"),
  tsc("tsconfig.web.json"),
  { name: "licences and sums", args: ["tools/licences.mjs"] },
  { name: "schemas", args: ["tools/schemas.mjs", "--check"] },
];
// With `--no-tests`, the build came just before and has checked these types.
if (withTests) jobs.push(tsc("tsconfig.build.json"));
if (withTests) jobs.unshift({ name: "pure tests", args: ["node_modules/vitest/vitest.mjs", "run", ...PURE] });

function run({ name, args }) {
  const from = Date.now();
  return new Promise((done) => {
    const child = spawn(process.execPath, args, { cwd: root, stdio: ["ignore", "pipe", "pipe"] });
    let output = "";
    child.stdout.on("data", (chunk) => {
      output += chunk;
    });
    child.stderr.on("data", (chunk) => {
      output += chunk;
    });
    child.on("close", (code) => done({ name, ok: code === 0, output, seconds: (Date.now() - from) / 1000 }));
  });
}

/** Three at a time: each waits on the disk or on one thread of its own for part of its run. */
const waiting = [...jobs];
const results = [];
async function worker() {
  for (let job = waiting.shift(); job !== undefined; job = waiting.shift()) {
    const result = await run(job);
    results.push(result);
    if (!result.ok) process.stdout.write(`\n${result.output}\n`);
    process.stdout.write(`${result.ok ? "ok    " : "FAILED"} ${result.name} (${result.seconds.toFixed(1)} s)\n`);
  }
}
await Promise.all([worker(), worker(), worker()]);

const failed = results.filter((each) => !each.ok).map((each) => each.name);
if (failed.length > 0) {
  process.stdout.write(`check failed: ${failed.join(", ")}\n`);
  process.exitCode = 1;
}
