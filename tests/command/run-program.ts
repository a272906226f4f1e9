import { type ChildProcessWithoutNullStreams, spawn } from "node:child_process";
import { chmod, mkdtemp, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import path from "node:path";
import { fileURLToPath } from "node:url";
import { mustHaveNoGuardian } from "../end-guardians.ts";

/** The program as it is installed: the build is made before the tests run. */
export const PROGRAM = fileURLToPath(new URL("../../dist/src/main.js", import.meta.url));

export interface Ended {
  code: number | null;
  out: string;
  err: string;
}

export interface RunningProgram {
  child: ChildProcessWithoutNullStreams;
  /** What it has said so far. */
  said: { out: string; err: string };
  ended: Promise<Ended>;
  /** Settles when what it has said on that stream fits; rejects where it ends first. */
  until(stream: "out" | "err", fits: RegExp): Promise<void>;
}

export interface RunOptions {
  env?: NodeJS.ProcessEnv;
  /** User and group it runs as. */
  uid?: number;
  nodeArgs?: string[];
  /** A command that runs it: `["taskset", "-c", "0"]`. */
  under?: readonly string[];
  cwd?: string;
  /** True: its standard input stays open, for a test to write to. */
  keepsInput?: boolean;
}

const running = new Set<RunningProgram>();

/** Starts the built program without a terminal, its standard input at its end. */
export function startProgram(args: readonly string[], options: RunOptions = {}): RunningProgram {
  const [command = "", ...words] = [
    ...[...(options.under ?? []), process.execPath],
    ...[...(options.nodeArgs ?? []), PROGRAM, ...args],
  ];
  const child = spawn(command, words, {
    stdio: "pipe",
    ...(options.cwd === undefined ? {} : { cwd: options.cwd }),
    ...(options.env === undefined ? {} : { env: { ...process.env, ...options.env } }),
    ...(options.uid === undefined ? {} : { uid: options.uid, gid: options.uid }),
  });
  if (options.keepsInput !== true) child.stdin.end();
  const said = { out: "", err: "" };
  const listeners = new Set<() => void>();
  const heard = (which: "out" | "err") => (text: string) => {
    said[which] += text;
    for (const each of [...listeners]) each();
  };
  child.stdout.setEncoding("utf8").on("data", heard("out"));
  child.stderr.setEncoding("utf8").on("data", heard("err"));
  let hasEnded = false;
  const ended = new Promise<Ended>((resolve, reject) => {
    child.once("error", reject);
    child.once("close", (code) => {
      hasEnded = true;
      running.delete(program);
      for (const each of [...listeners]) each();
      resolve({ code, ...said });
    });
  });
  const program: RunningProgram = {
    child,
    said,
    ended,
    until: (stream, fits) =>
      new Promise((resolve, reject) => {
        const look = (): void => {
          if (fits.test(said[stream])) resolve();
          else if (hasEnded) reject(new Error(`it ended without ${fits} on std${stream}: ${said.err}${said.out}`));
          else return;
          listeners.delete(look);
        };
        listeners.add(look);
        look();
      }),
  };
  running.add(program);
  return program;
}

/** Runs the built program to its end. */
export const runProgram = (args: readonly string[], options: RunOptions = {}): Promise<Ended> =>
  startProgram(args, options).ended;

/** Ends what a test left running, each by its own handle. */
export async function endPrograms(): Promise<void> {
  await Promise.all(
    [...running].map((each) => {
      each.child.kill("SIGTERM");
      return each.ended;
    }),
  );
}

/** Runs the work of a list a few at a time, in order. */
export async function fewAtATime<T, R>(
  list: readonly T[],
  atOnce: number,
  work: (each: T) => Promise<R>,
): Promise<R[]> {
  const results: R[] = [];
  const queue = list.entries();
  const worker = async (): Promise<void> => {
    for (const [index, each] of queue) results[index] = await work(each);
  };
  await Promise.all(Array.from({ length: atOnce }, worker));
  return results;
}

export interface TestFolder {
  path: string;
  /** Writes a file into it and answers with its path. */
  write(name: string, content: string | object): Promise<string>;
  /** Throws where a guardian of a run in it lives on. */
  remove(): Promise<void>;
}

export async function testFolder(): Promise<TestFolder> {
  const folder = await mkdtemp(path.join(tmpdir(), "firstamp-command-"));
  // Programs run as another user look into it too.
  await chmod(folder, 0o755);
  return {
    path: folder,
    write: async (name, content) => {
      const file = path.join(folder, name);
      await writeFile(file, typeof content === "string" ? content : JSON.stringify(content));
      return file;
    },
    remove: async () => {
      await mustHaveNoGuardian(folder);
      await rm(folder, { recursive: true, force: true });
    },
  };
}
