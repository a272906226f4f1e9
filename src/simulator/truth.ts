/** The true events on one feed; no instrument stands between. Times are the simulation's clock, ms. */
export interface FeedTruth {
  /** Delivered at the card: the integral of volts at the card times amps in the leads. */
  energyJoules: number;
  /** Through the leads, coulombs. */
  chargeCoulombs: number;
  peakAmps: number;
  /** Time with the supply limiting, in all and the longest in one piece. */
  limitedMs: number;
  longestLimitedMs: number;
  /** Time with 4 to 11 V at the card while the output was on, in all and the longest in one piece. */
  dwellMs: number;
  longestDwellMs: number;
  /** The highest limit and set-point that ever stood while the output was on. */
  maxSetLimitAmps: number;
  maxSetVolts: number;
  maxBoardVolts: number;
  output: "on" | "off";
  switchings: { atMs: number; output: "on" | "off"; why: string }[];
  boardVolts: number;
  amps: number;
  limiting: boolean;
}

export interface Truth {
  atMs: number;
  feeds: Record<string, FeedTruth>;
  /** At the core node of a board whose high side is shorted; 0 where there is none. */
  coreVolts: number;
  maxCoreVolts: number;
}

/** Adds up the truth of one feed, a step at a time. */
export class FeedTally {
  readonly switchings: FeedTruth["switchings"] = [];
  private energyJoules = 0;
  private chargeCoulombs = 0;
  private peakAmps = 0;
  private limitedMs = 0;
  private limitedNowMs = 0;
  private longestLimitedMs = 0;
  private dwellMs = 0;
  private dwellNowMs = 0;
  private longestDwellMs = 0;
  private maxSetLimitAmps = 0;
  private maxSetVolts = 0;
  private maxBoardVolts = 0;

  step(now: { ms: number; boardVolts: number; amps: number; limiting: boolean; on: boolean }): void {
    const { ms, boardVolts, amps } = now;
    this.energyJoules += (boardVolts * amps * ms) / 1000;
    this.chargeCoulombs += (amps * ms) / 1000;
    this.peakAmps = Math.max(this.peakAmps, amps);
    this.maxBoardVolts = Math.max(this.maxBoardVolts, boardVolts);
    this.limitedNowMs = now.limiting ? this.limitedNowMs + ms : 0;
    if (now.limiting) this.limitedMs += ms;
    this.longestLimitedMs = Math.max(this.longestLimitedMs, this.limitedNowMs);
    const dwelling = now.on && boardVolts > 4 && boardVolts < 11;
    this.dwellNowMs = dwelling ? this.dwellNowMs + ms : 0;
    if (dwelling) this.dwellMs += ms;
    this.longestDwellMs = Math.max(this.longestDwellMs, this.dwellNowMs);
  }

  settings(limitAmps: number, volts: number): void {
    this.maxSetLimitAmps = Math.max(this.maxSetLimitAmps, limitAmps);
    this.maxSetVolts = Math.max(this.maxSetVolts, volts);
  }

  switched(atMs: number, output: "on" | "off", why: string): void {
    this.switchings.push({ atMs, output, why });
  }

  truth(now: { boardVolts: number; amps: number; limiting: boolean; on: boolean }): FeedTruth {
    return {
      energyJoules: this.energyJoules,
      chargeCoulombs: this.chargeCoulombs,
      peakAmps: this.peakAmps,
      limitedMs: this.limitedMs,
      longestLimitedMs: this.longestLimitedMs,
      dwellMs: this.dwellMs,
      longestDwellMs: this.longestDwellMs,
      maxSetLimitAmps: this.maxSetLimitAmps,
      maxSetVolts: this.maxSetVolts,
      maxBoardVolts: this.maxBoardVolts,
      output: now.on ? "on" : "off",
      switchings: [...this.switchings],
      boardVolts: now.boardVolts,
      amps: now.amps,
      limiting: now.limiting,
    };
  }
}
