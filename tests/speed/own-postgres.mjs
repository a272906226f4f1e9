/** A PostgreSQL server of its own on a private port, for the speed runs; as Debian sets one up, with its commits safe on the disk. */
import { execFileSync, spawn } from "node:child_process";
import { once } from "node:events";
import { appendFileSync, chownSync, mkdtempSync, readdirSync, rmSync } from "node:fs";
import { createServer } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";

function programs() {
  try {
    const newest = readdirSync("/usr/lib/postgresql")
      .sort((a, b) => Number(a) - Number(b))
      .at(-1);
    return `/usr/lib/postgresql/${newest}/bin/`;
  } catch {
    return "";
  }
}

async function freePort() {
  const server = createServer().listen(0, "127.0.0.1");
  await once(server, "listening");
  const { port } = server.address();
  server.close();
  await once(server, "close");
  return port;
}

export async function ownPostgres() {
  const folder = mkdtempSync(join(tmpdir(), "firstamp-speed-pg-"));
  const as = {};
  // The server refuses to run as root.
  if (process.getuid?.() === 0) {
    const [uid, gid] = ["-u", "-g"].map((flag) => Number(execFileSync("id", [flag, "postgres"], { encoding: "utf8" })));
    Object.assign(as, { uid, gid });
    chownSync(folder, uid, gid);
  }
  const data = join(folder, "data");
  const args = ["-D", data, "-U", "owner", "-A", "trust", "-E", "UTF8", "--locale=C.UTF-8"];
  execFileSync(`${programs()}initdb`, args, { ...as, cwd: folder, stdio: "ignore" });
  const port = await freePort();
  appendFileSync(
    join(data, "postgresql.auto.conf"),
    `port = ${port}\nlisten_addresses = '127.0.0.1'\nunix_socket_directories = '${folder}'\nshared_buffers = 256MB\n`,
  );
  const child = spawn(`${programs()}postgres`, ["-D", data], {
    ...as,
    cwd: folder,
    stdio: ["ignore", "ignore", "pipe"],
  });
  await new Promise((resolve, reject) => {
    let said = "";
    child.stderr.setEncoding("utf8").on("data", (text) => {
      said += text;
      if (said.includes("ready to accept connections")) resolve();
    });
    child.once("exit", () => reject(new Error(`postgres ended: ${said}`)));
    child.once("error", reject);
  });
  return {
    url: `postgresql://owner@127.0.0.1:${port}/postgres`,
    async close() {
      const ended = once(child, "exit");
      child.kill("SIGINT");
      await ended;
      rmSync(folder, { recursive: true, force: true });
    },
  };
}
