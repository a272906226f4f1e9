import { spawnSync } from "node:child_process";
import { copyFileSync, mkdirSync } from "node:fs";
import { join } from "node:path";
import { root } from "./root.mjs";

/**
 * `npm run pictures`: takes the page at every place into dist/pictures, and copies those of the
 * README to docs/pictures.
 */
const README = { "readme-page.png": "page.png", "readme-verdict.png": "verdict.png", "readme-probe.png": "probe.png" };

const env = { ...process.env, FIRSTAMP_PICTURES: "all" };
const run = (...args) => spawnSync(process.execPath, args, { cwd: root, stdio: "inherit", env }).status === 0;
const isDone =
  run("tools/build.mjs", "--if-stale") &&
  run("node_modules/vitest/vitest.mjs", "run", "tests/browser/page-pictures.test.ts");
if (!isDone) process.exit(1);
const to = join(root, "docs", "pictures");
mkdirSync(to, { recursive: true });
for (const [from, name] of Object.entries(README)) copyFileSync(join(root, "dist", "pictures", from), join(to, name));
process.stdout.write(`The README's pictures are in ${to}.\n`);
