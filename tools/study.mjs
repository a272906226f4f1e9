import { spawnSync } from "node:child_process";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { build, runnerImport } from "vite";
import { root } from "./root.mjs";

// npm run study [-- --power-ups 20000] [--fit [--training 8000]] [--show N]: the draw verdict; with --fit its probabilities
// are calibrated anew first; --show prints one power-up of it and why it was judged as it was. npm run study:diagnosis
// [-- --boards N | --rails-normal N [--show]]: the choice of the next measurement; of some boards only, and told step by step.
const [name, ...more] = process.argv.slice(2);

/** One file without imports of ours, so that its parts start at once and run at full speed. */
async function bundled(folder) {
  await build({
    root,
    configFile: false,
    logLevel: "error",
    ssr: { noExternal: true },
    build: {
      ssr: join(root, "tests", "study", "study-main.ts"),
      outDir: folder,
      emptyOutDir: true,
      target: "node20",
      rollupOptions: { output: { entryFileNames: "study.mjs" } },
    },
  });
  return join(folder, "study.mjs");
}

function run(file, args) {
  const { status } = spawnSync(process.execPath, [file, "--root", root, ...args], { cwd: root, stdio: "inherit" });
  if (status !== 0) process.exitCode = status ?? 1;
  return status === 0;
}

async function drawStudy(args) {
  const folder = mkdtempSync(join(tmpdir(), "firstamp-study-"));
  const rest = args.filter((each) => each !== "--fit");
  try {
    // The fitted numbers are part of what is bundled, so the second run is bundled anew.
    if (!args.includes("--fit") || run(await bundled(folder), args)) run(await bundled(folder), rest);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

if (name === "diagnosis") {
  const file = join(root, "tests", "study", "diagnosis-study.mts");
  const { module } = await runnerImport(file, { root, configFile: false, logLevel: "error" });
  module.default(more);
} else await drawStudy(process.argv.slice(2));
