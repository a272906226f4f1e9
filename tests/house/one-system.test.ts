import { readdirSync, readFileSync } from "node:fs";
import path from "node:path";
import { expect, test } from "vitest";

const root = path.resolve(import.meta.dirname, "../..");
const MAY = ["src/link/link-platform.ts", "src/system/platform.ts"];

/** `src/host` reads what a Linux test host says, wherever the bench is. */
const HOST = /^src.host./;

test("one file of the system and one of the links ask which system it is, and no other", () => {
  const asking = readdirSync(path.join(root, "src"), { recursive: true, encoding: "utf8" })
    .map((name) => path.join("src", name))
    .filter((file) => file.endsWith(".ts") && !HOST.test(file))
    .filter((file) =>
      /process\s*\.\s*platform|os\.platform\(|["'`]\/proc\//.test(readFileSync(path.join(root, file), "utf8")),
    );
  expect(asking.sort()).toEqual(MAY);
});
