import { spawnSync } from "node:child_process";
import { copyFileSync, mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import path from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";

const root = path.resolve(import.meta.dirname, "../..");
const restricted = "lint/style/noRestrictedImports";

interface Case {
  file: string;
  text: string;
  rule: string | null;
}

const imports = (from: string) => `import { x } from "${from}";\n\nx();\n`;
const breaks = (folder: string, from: string): Case => ({
  file: `${folder}/breaks`,
  text: imports(from),
  rule: restricted,
});
const keeps = (folder: string, from: string): Case => ({ file: `${folder}/keeps`, text: imports(from), rule: null });
const says = (folder: string, text: string, rule: string): Case => ({ file: `${folder}/says`, text, rule });

const cases: Case[] = [
  breaks("shared", "../src/plan/x.ts"),
  breaks("shared/files", "../../src/plan/x.ts"),
  breaks("src/link", "../scpi/x.ts"),
  breaks("src/scpi", "node:fs"),
  breaks("src/scpi", "zod"),
  breaks("src/instrument", "node:net"),
  breaks("src/reading", "../scpi/x.ts"),
  breaks("src/sweep", "../verdict/x.ts"),
  breaks("src/plan", "../bench/x.ts"),
  breaks("src/plan/trips", "../../bench/x.ts"),
  breaks("src/plan/machine", "../../../bench/x.ts"),
  breaks("src/plan/machine", "../../verdict/x.ts"),
  breaks("src/system", "../link/x.ts"),
  breaks("src/daemon/run", "../../instrument/x.ts"),
  breaks("src/daemon/sweep", "../../sweep/x.ts"),
  breaks("src/bench", "../job/x.ts"),
  breaks("src/bench", "kysely"),
  breaks("src/guardian", "../instrument/x.ts"),
  breaks("src/daemon", "../link/x.ts"),
  breaks("src/capture", "../job/x.ts"),
  breaks("src/analysis", "../verdict/x.ts"),
  breaks("src/verdict", "node:path"),
  breaks("src/job", "../wire/x.ts"),
  breaks("src/host", "../link/x.ts"),
  breaks("src/host", "zod"),
  breaks("src/wire", "../instrument/x.ts"),
  breaks("src/shop", "../daemon/x.ts"),
  breaks("src/bench", "../shop/x.ts"),
  breaks("src/simulator", "../instrument/x.ts"),
  breaks("web", "../src/wire/x.ts"),
  says("src/link", 'export const later = () => import("fastify");\n', restricted),
  says("src/plan", "export const now = Date.now();\n", "lint/style/noRestrictedGlobals"),
  says("src/analysis", "setTimeout(() => {}, 1);\n", "lint/style/noRestrictedGlobals"),
  says("src/bench", "async function cut(): Promise<void> {}\n\ncut();\n", "lint/nursery/noFloatingPromises"),
  keeps("shared", "zod"),
  keeps("shared/record", "../files/x.ts"),
  keeps("src/link", "serialport"),
  keeps("src/scpi", "./x.ts"),
  keeps("src/instrument", "../link/x.ts"),
  keeps("src/plan", "../../shared/clock.ts"),
  keeps("src/plan/trips", "../x.ts"),
  keeps("src/plan/trips", "../machine/x.ts"),
  keeps("src/plan/machine", "../../analysis/x.ts"),
  keeps("src/daemon/run", "../sweep/x.ts"),
  keeps("src/daemon/run", "../../verdict/x.ts"),
  keeps("src/job/store", "kysely"),
  keeps("src/job/filing", "../../host/x.ts"),
  keeps("src/host", "../../shared/record/host-look.ts"),
  keeps("src/bench", "../link/x.ts"),
  keeps("src/shop", "mqtt"),
  keeps("src/capture", "csv-parse/sync"),
  keeps("src/daemon", "node:fs/promises"),
  keeps("src/command", "../instrument/x.ts"),
  keeps("web", "lit"),
];

interface Report {
  diagnostics: { category: string; location: { path: string | { file: string } } }[];
}

let folder: string;
let found: Map<string, string[]>;

const nameOf = (index: number, { file }: Case) => `${file}-${index}.ts`;

beforeAll(() => {
  folder = mkdtempSync(path.join(tmpdir(), "firstamp-table-"));
  const config = readFileSync(path.join(root, "biome.json"), "utf8");
  // The copy lies elsewhere: the schema's relative place does not.
  writeFileSync(path.join(folder, "biome.json"), config.replace(/^\s*"\$schema":.*$/m, ""));
  copyFileSync(path.join(root, ".gitignore"), path.join(folder, ".gitignore"));
  for (const [index, each] of cases.entries()) {
    const file = path.join(folder, nameOf(index, each));
    mkdirSync(path.dirname(file), { recursive: true });
    writeFileSync(file, each.text);
  }
  const biome = path.join(root, "node_modules/@biomejs/biome/bin/biome");
  const args = [biome, "lint", "--reporter=json", "--max-diagnostics=500", "."];
  const { stdout, stderr } = spawnSync(process.execPath, args, { cwd: folder, encoding: "utf8" });
  if (!stdout.includes("diagnostics")) throw new Error(`Biome gave no report: ${stderr}`);
  const report = JSON.parse(stdout.slice(stdout.indexOf("{"))) as Report;
  found = new Map();
  for (const { category, location } of report.diagnostics) {
    const file = typeof location.path === "string" ? location.path : location.path.file;
    found.set(file, [...(found.get(file) ?? []), category]);
  }
});

afterAll(() => rmSync(folder, { recursive: true, force: true }));

for (const [index, each] of cases.entries()) {
  const where = path.dirname(each.file);
  const what = each.text.split("\n").find((line) => line !== "") ?? "";
  test(`${where}: ${what} is ${each.rule === null ? "allowed" : `refused by ${each.rule}`}`, () => {
    const categories = found.get(nameOf(index, each)) ?? [];
    if (each.rule === null) expect(categories).not.toContain(restricted);
    else expect(categories).toContain(each.rule);
  });
}

test("each folder of src has a line in the import table, but command, which may import everything", () => {
  const config = JSON.parse(readFileSync(path.join(root, "biome.json"), "utf8")) as {
    overrides: { includes: string[] }[];
  };
  const ruled = config.overrides.flatMap((each) => each.includes).map((each) => each.replace(/(\/\*+)?\/\*\.ts$/, ""));
  const folders = readdirSync(path.join(root, "src"), { withFileTypes: true })
    .filter((each) => each.isDirectory())
    .map((each) => `src/${each.name}`);
  expect(folders.length).toBeGreaterThan(3);
  expect(folders.filter((each) => each !== "src/command" && !ruled.includes(each))).toEqual([]);
});
