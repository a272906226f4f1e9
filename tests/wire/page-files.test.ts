import { execFile } from "node:child_process";
import { chmod, mkdtemp, readFile, rm, stat, symlink, writeFile } from "node:fs/promises";
import { createConnection } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { promisify } from "node:util";
import { afterEach, beforeEach, describe, expect, test } from "vitest";
import { startWire } from "../../src/wire/start-wire.ts";
import { takeToken } from "../../src/wire/token-file.ts";
import { ScriptedFacade } from "./scripted-facade.ts";
import { TOKEN, WireRig } from "./wire-rig.ts";

let rig: WireRig;
beforeEach(async () => {
  rig = await WireRig.open();
});
afterEach(() => rig.close());

describe("the page", () => {
  test("is served without a session, with every safe header", async () => {
    const reply = await rig.ask("/");
    expect([reply.status, reply.text]).toEqual([200, "<!doctype html><title>the page</title>"]);
    const policy = reply.headers["content-security-policy"];
    for (const rule of [
      "default-src 'none'",
      "script-src 'self'",
      "style-src 'self'",
      "connect-src 'self'",
      "frame-ancestors 'none'",
      "base-uri 'none'",
      "require-trusted-types-for 'script'",
    ]) {
      expect(policy).toContain(rule);
    }
    expect(policy).not.toMatch(/unsafe|\*|https?:/);
    expect(reply.headers).toMatchObject({
      "x-content-type-options": "nosniff",
      "cross-origin-resource-policy": "same-origin",
      "cross-origin-opener-policy": "same-origin",
      "referrer-policy": "no-referrer",
    });
    expect(reply.headers["access-control-allow-origin"]).toBeUndefined();
  });

  test("may be opened by following a link from elsewhere, but not fetched from there", async () => {
    const site = { "sec-fetch-site": "cross-site" };
    expect((await rig.ask("/", { headers: { ...site, "sec-fetch-mode": "navigate" } })).status).toBe(200);
    expect((await rig.ask("/", { headers: { ...site, "sec-fetch-mode": "no-cors" } })).status).toBe(403);
    expect((await rig.ask("/api/snapshot", { headers: { ...site, "sec-fetch-mode": "navigate" } })).status).toBe(403);
  });

  test("is its built files and nothing else: no path leads out of it", async () => {
    expect((await rig.ask("/assets/main-abcdef12.js")).status).toBe(200);
    const paths = [
      "/../secret.html",
      "/assets/../../secret.html",
      "/%2e%2e/secret.html",
      "/..%2fsecret.html",
      "/%2e%2e%2fsecret.html",
      "/....//secret.html",
      "/..\\secret.html",
      "/assets/%00",
      "/notes.sqlite",
      "/assets/",
      "/index.html/",
      "/constructor",
      "/__proto__",
      "/%",
    ];
    for (const path of paths) {
      const reply = await rig.ask(path);
      expect(reply.status, path).toBeGreaterThanOrEqual(400);
      expect(reply.text, path).not.toContain("beside the page");
    }
  });

  test("that was never built is said at the start, in a sentence", async () => {
    const starting = startWire({ facade: new ScriptedFacade(), pageDir: "/nowhere/at/all" });
    await expect(starting).rejects.toThrow(/page is not built: \/nowhere\/at\/all is missing; run "npm run build"/);
  });
});

describe("an attachment", () => {
  test("goes out as a download in a sandbox; a drawing or page with script in it loses its kind", async () => {
    const kinds: Record<string, string> = {
      "image/svg+xml": "application/octet-stream",
      "text/html": "application/octet-stream",
      "application/xhtml+xml": "application/octet-stream",
      "text/javascript": "application/octet-stream",
      "image/png": "image/png",
      "text/plain": "text/plain",
    };
    for (const [mediaType, sent] of Object.entries(kinds)) {
      rig.facade.record = {
        jobs: async () => [],
        job: async () => null,
        attachment: async () => ({
          name: '../"x\r\nSet-Cookie: a=b\u001b[31m.svg',
          mediaType,
          bytes: Buffer.from("<svg onload=alert(1)>"),
        }),
      };
      const reply = await rig.ask(`/api/jobs/1/attachments/${"0".repeat(64)}`, {
        headers: { authorization: `Bearer ${TOKEN}` },
      });
      expect([reply.status, reply.headers["content-type"]?.split(";")[0]], mediaType).toEqual([200, sent]);
      expect(reply.headers["content-disposition"]).toBe('attachment; filename="__x__Set-Cookie_ a_b__31m.svg"');
      expect(reply.headers["content-security-policy"]).toBe("default-src 'none'; sandbox");
      expect(reply.headers["set-cookie"]).toBeUndefined();
    }
  });

  test("and a job are asked for by id and hash alone", async () => {
    let asked = 0;
    rig.facade.record = {
      jobs: async () => [],
      job: async (id) => {
        asked += 1;
        return id === "0193-ab" ? { title: "Kestrel" } : null;
      },
      attachment: async () => {
        asked += 1;
        return null;
      },
    };
    const ask = async (path: string) => (await rig.ask(path, { headers: { authorization: `Bearer ${TOKEN}` } })).status;
    for (const path of [
      "/api/jobs/..%2f..%2fetc",
      "/api/jobs/a%20b",
      "/api/jobs/1/attachments/passwd",
      `/api/jobs/1/attachments/${"A".repeat(64)}`,
    ]) {
      expect(await ask(path), path).toBe(404);
    }
    expect(asked).toBe(0);
    expect(await ask("/api/jobs/0193-ab")).toBe(200);
    expect(await ask("/api/jobs/0193-ac")).toBe(404);
  });
});

describe("where it listens", () => {
  test("is loopback, on both families where the machine has both, and nowhere else", async () => {
    const { stdout } = await promisify(execFile)("cat", ["/proc/net/tcp", "/proc/net/tcp6"]).catch(() => ({
      stdout: "",
    }));
    const port = rig.wire.port.toString(16).toUpperCase().padStart(4, "0");
    const listening = stdout
      .split("\n")
      .filter((line) => line.includes(`:${port} `) && line.includes(" 0A "))
      .map((line) => line.trim().split(/\s+/)[1]?.split(":")[0]);
    // Addresses as the kernel prints them: 127.0.0.1 and ::1, little-endian words (proc(5)).
    const allowed = ["0100007F", "00000000000000000000000001000000"];
    for (const address of listening) expect(allowed).toContain(address);
    if (process.platform === "linux") expect(listening).toContain("0100007F");
  });

  test("a port that is taken is said in a sentence", async () => {
    const starting = WireRig.open({ port: rig.wire.port });
    await expect(starting).rejects.toThrow(
      /Cannot listen on 127\.0\.0\.1 port \d+: another program has it; nothing was touched/,
    );
  });

  test("ends with close(): nothing answers, nobody listens to the bench", async () => {
    const other = await WireRig.open();
    const page = await other.page();
    await other.close();
    expect((await page.closed).code).toBe(1006);
    expect(other.facade.subscribers).toBe(0);
    const refused = new Promise((resolve) => createConnection(other.wire.port, "127.0.0.1").once("error", resolve));
    expect(await refused).toMatchObject({ code: "ECONNREFUSED" });
  });
});

describe("the token file", () => {
  let folder: string;
  beforeEach(async () => {
    folder = await mkdtemp(join(tmpdir(), "firstamp-token-"));
  });
  afterEach(() => rm(folder, { recursive: true, force: true }));
  const path = () => join(folder, "run", "token");

  test("is its owner's alone, opens the data to a script, and goes at an orderly end", async () => {
    const facade = new ScriptedFacade();
    const pageDir = join(folder, "page");
    await promisify(execFile)("mkdir", [pageDir]);
    await writeFile(join(pageDir, "index.html"), "page");
    const wire = await startWire({ facade, pageDir, tokenFile: path() });
    expect((await stat(path())).mode & 0o777).toBe(0o600);
    const token = (await readFile(path(), "utf8")).trim();
    const reply = await fetch(`http://127.0.0.1:${wire.port}/api/snapshot`, {
      headers: { authorization: `Bearer ${token}` },
    });
    expect(reply.status).toBe(200);
    await wire.close();
    await expect(stat(path())).rejects.toThrow("ENOENT");
  });

  test("of a daemon that was killed is taken up again", async () => {
    const first = await takeToken(path());
    expect(first).toMatch(/^[0-9a-f]{64}$/);
    expect(await takeToken(path())).toBe(first);
  });

  test("that others can read, that is a link, or that holds something else is replaced, and the link's target left alone", async () => {
    const first = await takeToken(path());
    await chmod(path(), 0o644);
    const second = await takeToken(path());
    expect(second).not.toBe(first);
    await writeFile(path(), "short", { mode: 0o600 });
    const third = await takeToken(path());
    expect(third).toMatch(/^[0-9a-f]{64}$/);
    await rm(path());
    const target = join(folder, "target");
    await writeFile(target, first, { mode: 0o600 });
    await symlink(target, path());
    expect(await takeToken(path())).not.toBe(first);
    expect(await readFile(target, "utf8")).toBe(first);
    expect((await stat(path())).mode & 0o777).toBe(0o600);
  });
});
