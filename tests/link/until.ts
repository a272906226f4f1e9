/** Lets the event loop turn until something is so; the test's own time limit ends a wait in vain. */
export async function until(isSo: () => boolean): Promise<void> {
  while (!isSo()) await new Promise<void>((resolve) => setImmediate(resolve));
}
