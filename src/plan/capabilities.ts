/** The abilities of one supply, as its driver and the supply itself said; null where neither did. */
export interface SupplyCapabilities {
  stepVolts: number | null;
  stepAmps: number | null;
  offsetAmps: number | null;
  hasOverVoltage: boolean;
  hasOverCurrent: boolean;
  hasWatchdog: boolean;
  /** Rise to nominal, milliseconds. */
  riseMs: number | null;
  channels: Readonly<Record<string, ChannelCapabilities>>;
}

export interface ChannelCapabilities {
  maxVolts: number | null;
  maxAmps: number | null;
  /** Shortest time from one reading of this channel to the next. */
  readIntervalMs: number;
}
