import { closeSync } from "node:fs";
import { isatty } from "node:tty";

/**
 * Lets the program end with its own code where its terminal was closed meanwhile. At its end Node puts each terminal's
 * settings back and ends by SIGABRT where that fails; a stream that is closed it leaves alone.
 */
export function leaveLostTerminal(): void {
  const terminals = [0, 1, 2].filter((stream) => isatty(stream));
  // Its settings are changed by questions, and reading it may fail, after it has gone.
  if (terminals.includes(0)) process.stdin.on("error", () => {});
  process.on("exit", () => {
    for (const stream of terminals) {
      if (isatty(stream)) continue;
      try {
        closeSync(stream);
      } catch {
        // Closed already, which is what was wanted.
      }
    }
  });
}
