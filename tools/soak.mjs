import { spawnSync } from "node:child_process";
import { root } from "./root.mjs";
import { runVitest } from "./run-vitest.mjs";

/** The program energised on the simulator at full rate for half an hour, or `--seconds N`: what grows, and whether a beat is missed. */
const at = process.argv.indexOf("--seconds");
const seconds = at < 0 ? "1800" : (process.argv[at + 1] ?? "1800");
const built = spawnSync(process.execPath, ["tools/build.mjs", "--if-stale"], { cwd: root, stdio: "inherit" });
if (built.status !== 0) process.exit(1);
const { failed, notes } = await runVitest({
  cwd: root,
  args: ["tests/faults/soak"],
  env: { ...process.env, FIRSTAMP_SOAK_SECONDS: seconds },
});
for (const note of notes) process.stdout.write(`${note}\n`);
process.exitCode = failed > 0 ? 1 : 0;
