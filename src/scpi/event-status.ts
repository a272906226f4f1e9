/** The standard event status register, taken apart (IEEE 488.2, 11.5.1.1). */
export interface EventStatus {
  operationComplete: boolean;
  queryError: boolean;
  deviceError: boolean;
  executionError: boolean;
  commandError: boolean;
  /** Set since the instrument was switched on; set again in a run, it has rebooted and its settings are its defaults. */
  powerOn: boolean;
}

/** Takes the answer to `*ESR?` apart; undefined where it is no integer of 0…255. */
export function parseEventStatus(text: string): EventStatus | undefined {
  const bits = /^\s*\+?(\d{1,3})\s*$/.exec(text)?.[1];
  if (bits === undefined || Number(bits) > 255) return undefined;
  const has = (bit: number): boolean => (Number(bits) & (1 << bit)) !== 0;
  return {
    operationComplete: has(0),
    queryError: has(2),
    deviceError: has(3),
    executionError: has(4),
    commandError: has(5),
    powerOn: has(7),
  };
}
