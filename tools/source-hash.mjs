import { createHash } from "node:crypto";
import { existsSync, readdirSync, readFileSync, statSync } from "node:fs";
import { join } from "node:path";
import { root } from "./root.mjs";

const sources = [
  "src",
  "shared",
  "web",
  "tools/build.mjs",
  "tools/bundle.mjs",
  "tsconfig.json",
  "tsconfig.build.json",
  "package-lock.json",
];

function* filesOf(path) {
  const full = join(root, path);
  if (!existsSync(full)) return;
  if (statSync(full).isFile()) {
    yield path;
    return;
  }
  for (const entry of readdirSync(full).sort()) {
    if (path === "shared" && entry === "schemas") continue;
    yield* filesOf(`${path}/${entry}`);
  }
}

/** A fingerprint of everything `dist/` is made from; it changes when a file is added, edited or removed. */
export function sourceHash() {
  const hash = createHash("sha256");
  for (const source of sources) {
    for (const file of filesOf(source)) {
      hash
        .update(file)
        .update("\0")
        .update(readFileSync(join(root, file)))
        .update("\0");
    }
  }
  return hash.digest("hex");
}

/** Whether `dist/` was made from the sources as they are now. */
export function distIsFresh() {
  try {
    return JSON.parse(readFileSync(join(root, "dist", ".built.json"), "utf8")).sources === sourceHash();
  } catch {
    return false;
  }
}
