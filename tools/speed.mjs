import { spawnSync } from "node:child_process";
import { readdirSync } from "node:fs";
import { join } from "node:path";
import { root } from "./root.mjs";

/** Runs what measures speed, one after the other, on a fresh build; arguments are handed on. Not a test: it prints tables. */
const run = (args) => spawnSync(process.execPath, args, { cwd: root, stdio: "inherit" }).status ?? 1;
const folder = join("tests", "speed");
const measuring = readdirSync(join(root, folder)).filter((name) => /-(rate|time|size)\.mjs$/.test(name));
let status = run([join("tools", "build.mjs"), "--if-stale"]);
for (const name of measuring) status ||= run([join(folder, name), ...process.argv.slice(2)]);
process.exitCode = status;
