import { type ChildProcess, fork } from "node:child_process";
import { fileURLToPath } from "node:url";

/** The path of a file of this folder. */
export const here = (name: string): string => fileURLToPath(new URL(name, import.meta.url));

/** Starts a program of this folder, which gets its options as JSON and answers by messages. */
export const begin = (name: string, options: unknown): ChildProcess =>
  fork(here(name), [JSON.stringify(options)], { execArgv: [] });

/** Settles with the next message of a program; rejects where it ends first. */
export const message = <T>(child: ChildProcess): Promise<T> =>
  new Promise((resolve, reject) => {
    child.once("message", (each) => resolve(each as T));
    child.once("exit", (code) => reject(new Error(`ended with ${code}`)));
  });
