import { type ChildProcess, spawn } from "node:child_process";
import { closeSync, constants, mkdtempSync, openSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";

/** Two ends of one serial line: what is written to `a` is read from `b`, and the other way round. */
export interface PtyPair {
  a: string;
  b: string;
  /** Takes the line away from both ends at once, as a pulled USB cable does. The paths are gone afterwards. */
  hangUp(): void;
  /** Ends the pair and removes its paths; safe to call again and after `hangUp`. */
  close(): Promise<void>;
}

/**
 * Opens a real pty pair by socat, both ends raw, under fresh paths in the temporary directory. Either end may be closed
 * and opened again: the pair itself holds both open. Throws when socat is missing: the tests fail then, they do not skip.
 */
export async function openPtyPair(): Promise<PtyPair> {
  const folder = mkdtempSync(join(tmpdir(), "firstamp-pty-"));
  const a = join(folder, "a");
  const b = join(folder, "b");
  const socat = spawn("socat", ["-d", "-d", `pty,rawer,link=${a}`, `pty,rawer,link=${b}`], {
    stdio: ["ignore", "ignore", "pipe"],
  });
  const gone = new Promise<void>((resolve) => {
    socat.once("exit", () => resolve());
    socat.once("error", () => resolve());
  });
  const held: number[] = [];
  const hangUp = () => {
    socat.kill("SIGKILL");
    for (const fd of held.splice(0)) closeSync(fd);
    // A pty's number is used again at once: an old path must not lead to another test's line.
    rmSync(folder, { recursive: true, force: true });
  };
  try {
    await untilReady(socat);
    // Without this the first close of an end would end socat, and so the line.
    for (const path of [a, b]) held.push(openSync(path, constants.O_RDWR | constants.O_NOCTTY | constants.O_NONBLOCK));
  } catch (error) {
    hangUp();
    throw error;
  }
  return {
    a,
    b,
    hangUp,
    close: async () => {
      hangUp();
      await gone;
    },
  };
}

function untilReady(socat: ChildProcess): Promise<void> {
  return new Promise((resolve, reject) => {
    let said = "";
    socat.stderr?.on("data", (chunk: Buffer) => {
      said += chunk.toString("latin1");
      if (said.includes("starting data transfer loop")) resolve();
    });
    socat.once("error", (cause) => reject(new Error("cannot start socat, which these tests need", { cause })));
    socat.once("exit", () => reject(new Error(`socat ended before its pty pair was ready: ${said}`)));
  });
}
