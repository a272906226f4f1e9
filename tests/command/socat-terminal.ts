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
  const listeners = new Set<() => void>();
  child.stdout.setEncoding("utf8").on("data", (text: string) => {
    screen += text;
    for (const each of [...listeners]) each();
  });
  return {
    child,
    type: (keys) => void child.stdin.write(keys),
    screen: () => screen,
    until: (fits, from = 0) =>
      new Promise((resolve, reject) => {
        const look = (): void => {
          const found = fits.exec(screen.slice(from));
          if (found === null) return;
          listeners.delete(look);
          resolve(from + found.index + found[0].length);
        };
        child.once("error", reject);
        child.once("close", () => reject(new Error(`it ended without ${fits}: ${screen}`)));
        listeners.add(look);
        look();
      }),
  };
}
