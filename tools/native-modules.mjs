import { spawnSync } from "node:child_process";
import { existsSync, readFileSync, realpathSync } from "node:fs";
import { dirname, join } from "node:path";
import { root } from "./root.mjs";

const trial = `
  const Database = require(process.versions.napi >= 10 ? "better-sqlite3-napi" : "better-sqlite3");
  new Database(":memory:").close();
  require("serialport");
`;

/** Whether the packages with machine code load under the Node that runs this; tried in a child, since a bad one may crash. */
export function nativeModulesLoad() {
  if (!existsSync(join(root, "node_modules", "better-sqlite3")))
    return { ok: false, output: "better-sqlite3 is not installed" };
  const { status, stderr } = spawnSync(process.execPath, ["-e", trial], {
    cwd: root,
    encoding: "utf8",
    timeout: 30_000,
  });
  return { ok: status === 0, output: stderr ?? "" };
}

function headersFit(folder) {
  try {
    const text = readFileSync(join(folder, "include", "node", "node_version.h"), "utf8");
    const part = (name) => new RegExp(`#define NODE_${name}_VERSION (\\d+)`).exec(text)?.[1];
    return `${part("MAJOR")}.${part("MINOR")}.${part("PATCH")}` === process.versions.node;
  } catch {
    return false;
  }
}

/**
 * Where node-gyp finds this Node's own headers, as an environment for npm. Headers lie beside the binary, or, when Node
 * itself came as an npm package, in the package for this machine. None there: an empty setting, so that a folder set
 * for another Node is not used and node-gyp fetches the right ones.
 */
export function headersEnvironment() {
  const machine = `node-${process.platform === "win32" ? "win" : process.platform}-${process.arch}`;
  const beside = [process.execPath, realpathSync(process.execPath)].map((path) => dirname(dirname(path)));
  const candidates = beside.flatMap((folder) => [
    folder,
    join(folder, "node_modules", machine),
    join(dirname(folder), machine),
  ]);
  return { npm_config_nodedir: candidates.find(headersFit) ?? "" };
}
