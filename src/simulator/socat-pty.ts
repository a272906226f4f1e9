import { spawn } from "node:child_process";
import { existsSync } from "node:fs";
import { mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { BenchError } from "../../shared/bench-error.ts";

/** A pair of pseudo terminals joined back to back. */
export interface SocatPty {
  /** For the program that talks to the instrument. */
  near: string;
  /** For the instrument. */
  far: string;
  /** Ends the pair: both sides see a hang-up. */
  close(): Promise<void>;
}

/** The time that socat may take to make its two links. */
const deadlineMs = 5000;

/**
 * Makes a pair with socat, which Node cannot do by itself. Throws BenchError "bad-input" with a sentence that says what to install where there
 * is no socat.
 */
export async function openSocatPty(): Promise<SocatPty> {
  const folder = await mkdtemp(join(tmpdir(), "firstamp-pty-"));
  const near = join(folder, "near");
  const far = join(folder, "far");
  const child = spawn("socat", ["-d", "-d", `pty,rawer,link=${near}`, `pty,rawer,link=${far}`], {
    stdio: ["ignore", "ignore", "pipe"],
  });
  const ended = new Promise<string>((resolve) => {
    child.once("error", (cause) => resolve(cause.message));
    child.once("exit", (code, signal) => resolve(`it ended with ${signal ?? code}`));
  });
  const close = async (): Promise<void> => {
    if (child.exitCode === null && child.signalCode === null && child.pid !== undefined) {
      child.kill("SIGTERM");
      await ended;
    }
    await rm(folder, { recursive: true, force: true });
  };
  // socat says on stderr when it starts to pass bytes; the links are there by then.
  const ready = new Promise<string>((resolve) => {
    let said = "";
    child.stderr?.on("data", (bytes: Buffer) => {
      said = (said + bytes.toString("latin1")).slice(-4096);
      if (said.includes("starting data transfer")) resolve("");
    });
  });
  let timer: NodeJS.Timeout | undefined;
  const late = new Promise<string>((resolve) => {
    timer = setTimeout(() => resolve(`it was not ready within ${deadlineMs} ms`), deadlineMs);
  });
  const failure = await Promise.race([ready, ended, late]);
  clearTimeout(timer);
  if (failure !== "" || !existsSync(near) || !existsSync(far)) {
    await close();
    throw new BenchError(
      "bad-input",
      `Cannot make a pair of pseudo terminals with socat: ${failure}; install socat, or leave --serial out`,
    );
  }
  return { near, far, close };
}
