import { spawnSync } from "node:child_process";
import { chmodSync, existsSync, readdirSync, renameSync, rmSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { bundleStarted } from "./bundle.mjs";
import { locked } from "./lock.mjs";
import { root } from "./root.mjs";
import { distIsFresh, sourceHash } from "./source-hash.mjs";
import { TSC } from "./tsc.mjs";

/** Exits with the command's own code when it fails, so that a broken build never looks like a good one. */
function must(args) {
  const { status, signal } = spawnSync(process.execPath, args, { cwd: root, stdio: ["ignore", 2, 2] });
  if (status !== 0) {
    process.stderr.write(
      `firstamp: the build stopped at "${args.join(" ")}"${signal === null ? "" : ` (${signal})`}\n`,
    );
    process.exit(status ?? 1);
  }
}

/**
 * Makes dist/ beside the old one and swaps them at the end: a running program keeps its files until then, and a build
 * that fails changes nothing.
 */
async function build() {
  for (const left of readdirSync(root).filter((name) => name.startsWith(".dist-"))) {
    rmSync(join(root, left), { recursive: true, force: true });
  }
  const sources = sourceHash();
  const made = `.dist-${process.pid}`;
  must([...TSC, "-p", "tsconfig.build.json", "--outDir", made, "--noEmitOnError"]);
  await bundleStarted(join(root, made, "src"));
  const main = join(root, made, "src", "main.js");
  if (existsSync(main)) chmodSync(main, 0o755);
  if (existsSync(join(root, "web", "index.html"))) {
    must(["node_modules/vite/bin/vite.js", "build", "web", "--outDir", join(root, made, "web"), "--logLevel", "warn"]);
  }
  writeFileSync(join(root, made, ".built.json"), `${JSON.stringify({ sources })}\n`);
  const old = join(root, `.dist-old-${process.pid}`);
  if (existsSync(join(root, "dist"))) renameSync(join(root, "dist"), old);
  renameSync(join(root, made), join(root, "dist"));
  rmSync(old, { recursive: true, force: true });
}

const onlyIfStale = process.argv.includes("--if-stale");
if (!(onlyIfStale && distIsFresh())) {
  await locked(async () => {
    if (!(onlyIfStale && distIsFresh())) await build();
  });
}
