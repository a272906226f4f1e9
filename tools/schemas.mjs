import { mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { runnerImport } from "vite";
import { z } from "zod";
import { root } from "./root.mjs";

/** The documents people or other programs write, each with the module of shared/ that holds its zod schema. */
const documents = {
  "bench-file": "BenchFile",
  "board-file": "BoardFile",
  "driver-file": "DriverFile",
  "scenario-file": "ScenarioFile",
  plan: "Plan",
  "shop-settings": "ShopSettings",
  "host-look": "HostLook",
  "host-test": "HostTestFile",
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
  const text = `${JSON.stringify({ title: `firstamp ${module.replace("-", " ")}`, ...schema }, null, 2)}\n`;
  const file = `${module}.schema.json`;
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
