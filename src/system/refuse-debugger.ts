/**
 * Keeps SIGUSR1 from opening Node's debugger in this process, where every local user could run code of their own: a process
 * that listens to the signal does not. One that was started with a flag of the debugger is meant to have it.
 */
export function refuseDebugger(): void {
  const flags = [...process.execArgv, process.env["NODE_OPTIONS"] ?? ""];
  if (flags.some((each) => each.includes("--inspect"))) return;
  process.on("SIGUSR1", () => {});
}
