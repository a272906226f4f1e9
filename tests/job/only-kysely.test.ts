import { readdirSync, readFileSync } from "node:fs";
import { expect, test } from "vitest";

const folder = new URL("../../src/job/", import.meta.url);
const sources = new Map(
  readdirSync(folder, { recursive: true, encoding: "utf8" })
    .filter((name) => name.endsWith(".ts"))
    .map((name) => [name, readFileSync(new URL(name, folder), "utf8")] as const),
);
const naming = (pattern: RegExp) => [...sources].filter(([, text]) => pattern.test(text)).map(([name]) => name);

test("one file knows of SQLite and one of PostgreSQL; everything else asks through Kysely", () => {
  expect(sources.size).toBeGreaterThan(20);
  expect(naming(/node:sqlite|@photostructure/)).toEqual(["database/sqlite-engine.ts"]);
  expect(naming(/sqlite-engine/)).toEqual(["database/sqlite-file.ts"]);
  expect(naming(/\bpragma\b|\bsql`|sql\.raw/i).sort()).toEqual([
    "database/postgres-file.ts",
    "database/sqlite-engine.ts",
    "database/sqlite-file.ts",
  ]);
  expect(naming(/from "pg"/)).toEqual(["database/postgres-file.ts"]);
});

test("no statement is written as text outside those files, where there are some", () => {
  const statement =
    /\b(?:insert (?:or \w+ )?into|update \w+ set|delete from|create (?:table|trigger|index)|vacuum into|select [\w*, ]+ from)\b/i;
  expect(naming(statement).sort()).toEqual(["database/postgres-file.ts", "database/sqlite-file.ts"]);
});
