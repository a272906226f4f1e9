const TICK_MS = 2;

/**
 * Measures how late this process itself is called back, as a stand-in for what a busy machine takes from every process:
 * answers with the worst lateness so far, ms, when asked to end.
 */
export function measureLateness(): () => number {
  let worstMs = 0;
  let lastMs = performance.now();
  const look = (): void => {
    const nowMs = performance.now();
    worstMs = Math.max(worstMs, nowMs - lastMs - TICK_MS);
    lastMs = nowMs;
  };
  const timer = setInterval(look, TICK_MS);
  return () => {
    look();
    clearInterval(timer);
    return worstMs;
  };
}
