let areTaken = false;

/**
 * From now on a signal ends the program with the exit code that is decided, or does nothing while it is being decided: for the
 * last moments of a command, when everything is off and proved. By itself a signal would end it with a code of its own.
 */
export function takeLateSignals(): void {
  if (areTaken) return;
  areTaken = true;
  // Node gives the signals back on its way out of an empty loop, some ten milliseconds before it is gone; on the way out of
  // `exit` it does not.
  process.on("beforeExit", () => process.exit());
  for (const signal of ["SIGINT", "SIGTERM", "SIGHUP"] as const) {
    process.on(signal, () => {
      if (process.exitCode !== undefined) process.exit();
    });
  }
}
