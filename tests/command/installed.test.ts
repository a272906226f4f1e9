import { execFile } from "node:child_process";
import { chmodSync, mkdirSync, mkdtempSync, readdirSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import path from "node:path";
import { promisify } from "node:util";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { endedInTime } from "./powered-bench.ts";

const run = promisify(execFile);
const root = path.resolve(import.meta.dirname, "../..");
/** Debian's user "nobody" (base-passwd); only root may become somebody else. */
const NOBODY = 65534;
const asNobody = process.getuid?.() === 0 ? { uid: NOBODY, gid: NOBODY } : {};

describe("packed and installed elsewhere, in a folder that nobody may write", () => {
  let folder: string;
  let program: string;
  let home: string;

  beforeAll(async () => {
    folder = mkdtempSync(path.join(tmpdir(), "firstamp-installed-"));
    home = path.join(folder, "home");
    mkdirSync(home);
    chmodSync(folder, 0o755);
    chmodSync(home, 0o777);
    // `npm test` keeps a network's own certificates from all other processes, which start sooner without them.
    const env = { ...process.env };
    env["NODE_EXTRA_CA_CERTS"] ??= env["FIRSTAMP_NPM_CERTIFICATES"];
    await run("npm", ["pack", "--pack-destination", folder], { cwd: root, env });
    const archive = readdirSync(folder).find((name) => name.endsWith(".tgz")) ?? "";
    const prefix = path.join(folder, "prefix");
    const install = ["install", "--global", "--prefix", prefix, "--prefer-offline", "--no-audit", "--no-fund"];
    await run("npm", [...install, path.join(folder, archive)], { cwd: folder, env });
    await run("chmod", ["-R", "a-w", prefix]);
    program = path.join(prefix, "bin", "firstamp");
  }, 300_000);
  afterAll(() => rmSync(folder, { recursive: true, force: true }));

  /** The program's output for that user, whatever code it ended with. */
  const asUser = async (args: string[]): Promise<{ code: number; out: string }> => {
    const options = { cwd: home, env: { PATH: process.env["PATH"], HOME: home }, ...asNobody, timeout: 120_000 };
    try {
      return { code: 0, out: (await run(program, args, options)).stdout };
    } catch (cause) {
      const { code, stdout } = cause as { code: unknown; stdout: string };
      if (typeof code !== "number" || stdout === "") throw cause;
      return { code, out: stdout };
    }
  };

  it("does a power-up on a simulated bench for another user and files it in the folder that was named", async () => {
    const { code, out } = await endedInTime(() => asUser(["try", "--once", "--json", "--data", "records"]));
    const document = JSON.parse(out);
    expect(document).toMatchObject({ class: "normal", output: "off", trip: null });
    expect(code).toBe(0);
    const listed = JSON.parse((await asUser(["job", "list", "--json", "--data", "records"])).out);
    expect(JSON.stringify(listed)).toContain(document.job);
  }, 300_000);
});
