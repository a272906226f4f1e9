import { mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { basename, join } from "node:path";
import { runnerImport } from "vite";
import { z } from "zod";
import { root } from "./root.mjs";

/** The documents people or other programs write, each with the module of shared/ that holds its zod schema. */
const documents = {
  "files/bench-file": "BenchFile",
  "files/board-file": "BoardFile",
  "files/driver-file": "DriverFile",
  "files/scenario-file": "ScenarioFile",
  "files/shop-settings": "ShopSettings",
  "record/host-look": "HostLook",
  "record/host-test": "HostTestFile",
  plan: "Plan",
  "shop-live": "ShopLive",
};

const folder = join(root, "shared", "schemas");
const check = process.argv.includes("--check");
mkdirSync(folder, { recursive: true });
const differing = [];
const names = new Set();

for (const [module, name] of Object.entries(documents)) {
  const loaded = await runnerImport(join(root, "shared", `${module}.ts`), {
    root,
    logLevel: "error",
    configFile: false,
  });
  const schema = z.toJSONSchema(loaded.module[name], { io: "input" });
  const document = basename(module);
  const text = `${JSON.stringify({ title: `firstamp ${document.replace("-", " ")}`, ...schema }, null, 2)}\n`;
  const file = `${document}.schema.json`;
  names.add(file);
  let there = null;
  try {
    there = readFileSync(join(folder, file), "utf8");
  } catch {
    // not made yet: differs
  }
  if (there === text) continue;
  differing.push(file);
  if (!check) writeFileSync(join(folder, file), text);
}
for (const file of readdirSync(folder)) {
  if (names.has(file)) continue;
  differing.push(file);
  if (!check) rmSync(join(folder, file));
}

if (check && differing.length > 0) {
  process.stderr.write(
    `shared/schemas differs from the zod schemas: ${differing.join(", ")}. "npm run schemas" writes them.\n`,
  );
  process.exitCode = 1;
}
