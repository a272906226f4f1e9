import { type ChildProcess, spawn } from "node:child_process";
import { thisPlatform } from "../../system/platform.ts";

/**
 * Keeps the machine from going to sleep until the answer is called, by a child `systemd-inhibit` that lasts no longer than
 * this process. `onNone` hears, at most once, that nothing here can do that; a run goes on anyway, as a machine that
 * wakes up is cut first thing.
 */
export function stayAwake(onNone: (why: string) => void, environment: NodeJS.ProcessEnv = process.env): () => void {
  let over = false;
  let child: ChildProcess | undefined;
  const none = (why: string): void => {
    if (!over) onNone(why);
    over = true;
  };
  const command = thisPlatform.awakeCommand;
  if (command === null) none("this system has no command for it");
  else {
    // It ends with its standard input, which is this process's to hold open.
    const what = [
      "--what=sleep:idle:handle-lid-switch",
      "--who=firstamp",
      "--why=a board is energised",
      "--mode=block",
    ];
    child = spawn(command, [...what, "cat"], {
      stdio: ["pipe", "ignore", "ignore"],
      env: environment,
    });
    child.on("error", () => none(`${command} does not exist`));
    child.on("exit", () => none(`${command} was refused, or found nothing to answer it`));
    child.stdin?.on("error", () => {});
  }
  return () => {
    over = true;
    child?.stdin?.end();
  };
}
