import { type ChildProcess, spawn } from "node:child_process";
import { once } from "node:events";
import { existsSync } from "node:fs";
import { chmod, mkdtemp, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import path from "node:path";
import { freePort } from "./postgres-server.ts";

const PROGRAM = existsSync("/usr/sbin/mosquitto") ? "/usr/sbin/mosquitto" : "mosquitto";

export interface Broker {
  readonly url: string;
  stop(): Promise<void>;
  start(): Promise<void>;
  close(): Promise<void>;
}

/** Settings of a broker that lets anybody in. */
const open = (port: number): string => `listener ${port} 127.0.0.1\nallow_anonymous true\n`;

/** A broker of its own on a private port, with `settings`: one that lets anybody in, where none are given. */
export async function mosquittoBroker(settingsAt: (port: number) => string = open): Promise<Broker> {
  const folder = await mkdtemp(path.join(tmpdir(), "firstamp-mosquitto-"));
  await chmod(folder, 0o755);
  const port = await freePort();
  const settings = path.join(folder, "mosquitto.conf");
  await writeFile(settings, `${settingsAt(port)}log_dest stderr\n`);
  let child: ChildProcess | null = null;
  const start = async (): Promise<void> => {
    const started = spawn(PROGRAM, ["-c", settings, "-v"], { stdio: ["ignore", "ignore", "pipe"] });
    child = started;
    let said = "";
    await new Promise<void>((resolve, reject) => {
      started.stderr.setEncoding("utf8").on("data", (text: string) => {
        said = `${said}${text}`.slice(-5000);
        if (/mosquitto version .* running/.test(said)) resolve();
      });
      started.once("exit", () => reject(new Error(`mosquitto ended: ${said}`)));
      started.once("error", reject);
    });
  };
  const stop = async (): Promise<void> => {
    const ended = child;
    child = null;
    if (ended === null || ended.exitCode !== null || ended.signalCode !== null) return;
    const exit = once(ended, "exit");
    ended.kill("SIGKILL");
    await exit;
  };
  await start();
  return {
    url: `mqtt://127.0.0.1:${port}`,
    start,
    stop,
    async close() {
      await stop();
      await rm(folder, { recursive: true, force: true });
    },
  };
}
