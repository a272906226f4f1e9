/** Something that crossed a wire or changed inside an instrument. Times are the simulation's clock, ms. */
export interface HistoryEntry {
  atMs: number;
  instrument: string;
  /** `command`: a line that was run; `reply`: a line handed to the wire; `ignored`: a line that was not run; `state`: a change inside. */
  kind: "command" | "reply" | "ignored" | "state" | "link";
  text: string;
}

/** Keeps the last entries, for checking afterwards; the oldest go first once it is full. */
export class History {
  private entries: HistoryEntry[] = [];
  private readonly most: number;
  /** The number of entries that had to go. */
  dropped = 0;

  constructor(most = 100_000) {
    this.most = most;
  }

  add(entry: HistoryEntry): void {
    this.entries.push(entry);
    if (this.entries.length > this.most * 1.1) {
      const over = this.entries.length - this.most;
      this.entries = this.entries.slice(over);
      this.dropped += over;
    }
  }

  list(): HistoryEntry[] {
    return [...this.entries];
  }
}
