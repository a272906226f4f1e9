import { type ChildProcess, execFile, spawn } from "node:child_process";
import { once } from "node:events";
import { chown, mkdtemp, readdir, rm, writeFile } from "node:fs/promises";
import { createServer } from "node:net";
import { tmpdir } from "node:os";
import path from "node:path";
import { promisify } from "node:util";
import pg from "pg";

const run = promisify(execFile);

/** A server that refuses to run as root runs as the user its package made. */
export async function otherUser(name: string): Promise<{ uid: number; gid: number } | null> {
  if (process.getuid?.() !== 0) return null;
  const [uid, gid] = await Promise.all(["-u", "-g"].map(async (flag) => (await run("id", [flag, name])).stdout.trim()));
  return { uid: Number(uid), gid: Number(gid) };
}

/** A port of 127.0.0.1 that nothing listens on now. */
export async function freePort(): Promise<number> {
  const server = createServer().listen(0, "127.0.0.1");
  await once(server, "listening");
  const address = server.address();
  server.close();
  await once(server, "close");
  if (address === null || typeof address === "string") throw new Error("no port");
  return address.port;
}

/** Where Debian keeps the newest server's programs; those of the path elsewhere. */
async function programsOf(): Promise<string> {
  const versions = await readdir("/usr/lib/postgresql").catch(() => []);
  const newest = versions.sort((a, b) => Number(a) - Number(b)).at(-1);
  return newest === undefined ? "" : `/usr/lib/postgresql/${newest}/bin/`;
}

export interface PostgresServer {
  readonly port: number;
  readonly folder: string;
  /** The connection string of a database, as the server's owner unless another role is named. */
  url(database: string, role?: string): string;
  /** Makes an empty database and answers with its connection string. */
  newDatabase(): Promise<string>;
  /** Runs statements as the server's owner. */
  ask(database: string, statements: string): Promise<pg.QueryResult>;
  /** `kill`: as a power cut would, without a word to its clients. */
  stop(how?: "ask" | "kill"): Promise<void>;
  start(): Promise<void>;
  close(): Promise<void>;
}

/** A server of its own on a private port, in a folder that is gone afterwards; `under`: where that folder is made. */
export async function postgresServer(
  settings: readonly string[] = [],
  under: string = tmpdir(),
): Promise<PostgresServer> {
  const folder = await mkdtemp(path.join(under, "firstamp-postgres-"));
  const user = await otherUser("postgres");
  if (user !== null) await chown(folder, user.uid, user.gid);
  const as = user ?? {};
  const programs = await programsOf();
  const data = path.join(folder, "data");
  const initdb = ["-D", data, "-U", "owner", "-A", "trust", "-E", "UTF8", "--locale=C.UTF-8", "--no-sync"];
  await run(`${programs}initdb`, initdb, { ...as, cwd: folder });
  const port = await freePort();
  await writeFile(
    path.join(data, "postgresql.auto.conf"),
    [
      `port = ${port}`,
      "listen_addresses = '127.0.0.1'",
      `unix_socket_directories = '${folder}'`,
      "max_connections = 60",
      "shared_buffers = 128MB",
      ...settings,
      "",
    ].join("\n"),
  );
  let server: ChildProcess | null = null;
  let databases = 0;

  const url = (database: string, role = "owner"): string => `postgresql://${role}@127.0.0.1:${port}/${database}`;
  const ask: PostgresServer["ask"] = async (database, statements) => {
    const client = new pg.Client({ connectionString: url(database) });
    client.on("error", () => undefined);
    await client.connect();
    try {
      return await client.query(statements);
    } finally {
      await client.end();
    }
  };
  const start = async (): Promise<void> => {
    const child = spawn(`${programs}postgres`, ["-D", data], {
      ...as,
      cwd: folder,
      stdio: ["ignore", "ignore", "pipe"],
    });
    server = child;
    let said = "";
    await new Promise<void>((resolve, reject) => {
      child.stderr.setEncoding("utf8").on("data", (text: string) => {
        said = `${said}${text}`.slice(-20_000);
        if (said.includes("ready to accept connections")) resolve();
      });
      child.once("exit", () => reject(new Error(`postgres ended: ${said}`)));
      child.once("error", reject);
    });
  };
  const stop: PostgresServer["stop"] = async (how = "ask") => {
    const child = server;
    server = null;
    if (child === null || child.exitCode !== null || child.signalCode !== null) return;
    const ended = once(child, "exit");
    // SIGQUIT: all of its processes end at once, without a checkpoint; SIGINT: sessions are ended first.
    child.kill(how === "kill" ? "SIGQUIT" : "SIGINT");
    await ended;
  };
  await start();
  return {
    port,
    folder,
    url,
    ask,
    start,
    stop,
    async newDatabase() {
      const name = `record${++databases}`;
      await ask("postgres", `create database ${name}`);
      return url(name);
    },
    async close() {
      await stop("kill");
      await rm(folder, { recursive: true, force: true });
    },
  };
}
