import { spawnSync } from "node:child_process";
import { cpSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, symlinkSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { delimiter, dirname, join } from "node:path";
import { root } from "./root.mjs";
import { runStep } from "./run-step.mjs";
import { runVitest } from "./run-vitest.mjs";

const dialects = ["plain", "selection", "channel-list", "numbered"];
const left = new Set(["node_modules", "dist", ".git", ".cache", "coverage"]);

/** Another Node as an npm package in a folder of its own; its binary's path. */
async function fetchNode(folder, major) {
  mkdirSync(folder);
  writeFileSync(join(folder, "package.json"), JSON.stringify({ private: true, allowScripts: { node: true } }));
  const npm = process.env.npm_execpath?.endsWith(".js") ? [process.execPath, process.env.npm_execpath] : ["npm"];
  const args = [...npm.slice(1), "install", `node@${major}`, "--no-audit", "--no-fund", "--prefer-offline"];
  const { ok, output } = await runStep(`fetching Node ${major}`, npm[0], args, { cwd: folder });
  return {
    ok,
    output,
    node: join(folder, "node_modules", "node", "bin", process.platform === "win32" ? "node.exe" : "node"),
  };
}

/**
 * A copy of the checkout with the same packages, so that what was built for the Node of every day stays as it is. Nothing
 * is ever installed there: npm would follow the links into the checkout itself.
 */
function copyCheckout(copy) {
  mkdirSync(copy);
  for (const name of readdirSync(root)) {
    if (!left.has(name) && !name.startsWith(".dist-")) cpSync(join(root, name), join(copy, name), { recursive: true });
  }
  mkdirSync(join(copy, "node_modules"));
  for (const name of readdirSync(join(root, "node_modules"))) {
    if (!name.startsWith("."))
      symlinkSync(join(root, "node_modules", name), join(copy, "node_modules", name), "junction");
  }
}

/** Rules by which a machine that is too busy, not the board, ends a run: such a run is done again, and said. */
const tooSlow = JSON.parse(readFileSync(join(root, "tools", "too-slow.json"), "utf8"));
const tries = 3;

function powerUp(dialect, where, result) {
  for (let left = tries - 1; ; left--) {
    const { wrong, trip } = powerUpOnce(dialect, where);
    result.runs += 1;
    if (wrong === null || left === 0 || !tooSlow.includes(trip?.rule)) return wrong;
    result.doneAgain.push(trip.because);
  }
}

function powerUpOnce(dialect, { copy, node, env, data }) {
  const args = ["dist/src/main.js", "try", "--once", "--json", "--dialect", dialect, "--data", data];
  const { status, stdout } = spawnSync(node, args, {
    cwd: copy,
    env,
    encoding: "utf8",
    stdio: ["ignore", "pipe", "inherit"],
    timeout: 180_000,
  });
  try {
    const lines = stdout.trim().split("\n");
    const found = JSON.parse(stdout.trim().startsWith("{") && lines.length === 1 ? lines[0] : stdout);
    if (status === 0 && found.class === "normal" && found.output === "off") return { wrong: null, trip: null };
    const { trip } = found;
    const why = trip === null ? "no trip" : `trip ${trip.rule}: ${trip.because}`;
    return { wrong: `${dialect}: exit ${status}, class ${found.class}, output ${found.output}, ${why}`, trip };
  } catch {
    return { wrong: `${dialect}: exit ${status}, no document on stdout`, trip: null };
  }
}

/** The tests of pure parts, links and record and one power-up per dialect under another major version of Node, counted. */
export async function testOnNode(major) {
  const folder = mkdtempSync(join(tmpdir(), `firstamp-node${major}-`));
  try {
    const fetched = await fetchNode(join(folder, "node"), major);
    if (!fetched.ok)
      return { passed: 0, failed: 1, notes: [`Node ${major} could not be fetched: ${fetched.output.slice(-300)}`] };
    const { node } = fetched;
    const copy = join(folder, "firstamp");
    copyCheckout(copy);
    const env = { ...process.env, PATH: `${dirname(node)}${delimiter}${process.env.PATH}` };
    for (const name of ["FIRSTAMP_TOOLS_LOCK", "npm_node_execpath", "npm_config_nodedir", "NODE"]) delete env[name];
    const built = spawnSync(node, ["tools/build.mjs"], { cwd: copy, env, stdio: "inherit" });
    if (built.status !== 0) return { passed: 0, failed: 1, notes: ["the build failed"] };
    const result = runVitest({
      cwd: copy,
      args: ["--project", "pure", "--project", "link", "--project", "record"],
      node,
      env,
    });
    for (const dialect of dialects) {
      const wrong = powerUp(dialect, { copy, node, env, data: join(folder, `data-${dialect}`) }, result);
      process.stdout.write(`${wrong === null ? "ok    " : "FAILED"} power-up on Node ${major}, ${dialect}\n`);
      if (wrong === null) result.passed += 1;
      else {
        result.failed += 1;
        result.notes.push(wrong);
      }
    }
    return result;
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}
