import { type ChildProcessWithoutNullStreams, spawn } from "node:child_process";

/** A script on a terminal of its own. */
export interface SocatTerminal {
  child: ChildProcessWithoutNullStreams;
  type(keys: string): void;
  /** Everything that came to the screen, with its control characters. */
  screen(): string;
  /** Settles when the screen from there on fits, and answers with where the match ends; rejects where the script ends first. */
  until(fits: RegExp, from?: number): Promise<number>;
}

/** Runs a script on a terminal by socat (which its tests need, and fail without). */
export function onTerminal(script: string): SocatTerminal {
  const child = spawn("socat", [`EXEC:${script},pty,setsid,ctty,stderr,echo=0`, "STDIO"], { stdio: "pipe" });
  let screen = "";
  let end: string | null = null;
  const listeners = new Set<() => void>();
  const tell = (): void => {
    for (const each of [...listeners]) each();
  };
  child.stdout.setEncoding("utf8").on("data", (text: string) => {
    screen += text;
    tell();
  });
  const ended = (why: string): void => {
    end = why;
    tell();
  };
  child.once("error", ({ message }) => ended(message));
  child.once("close", () => ended("it ended"));
  return {
    child,
    type: (keys) => void child.stdin.write(keys),
    screen: () => screen,
    until: (fits, from = 0) =>
      new Promise((resolve, reject) => {
        const look = (): void => {
          const found = fits.exec(screen.slice(from));
          if (found !== null) resolve(from + found.index + found[0].length);
          else if (end !== null) reject(new Error(`${end} without ${fits}: ${screen}`));
          else return;
          listeners.delete(look);
        };
        listeners.add(look);
        look();
      }),
  };
}
