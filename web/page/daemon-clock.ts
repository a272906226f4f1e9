let aheadMs = 0;

/** The daemon's wall clock, as it last said it. */
export const daemonNow = (): Date => new Date(Date.now() + aheadMs);

/** Takes what the daemon says of its clock. The clock of the machine that shows the page decides nothing: it may be another, and wrong. */
export function heardDaemonClock(wallMs: number): void {
  aheadMs = wallMs - Date.now();
}
