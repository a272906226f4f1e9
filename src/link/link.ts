/** A line as it came off a wire, without its terminator; `atMs` is the clock's time when its last byte was seen. */
export interface LinkLine {
  text: string;
  atMs: number;
}

/** Bytes that are no line: a half line at a disconnect, one too long, one with bytes that no instrument sends. */
export interface LinkJunk {
  why: "half-line" | "too-long" | "not-text" | "stalled";
  text: string;
  atMs: number;
}

export interface LinkClosed {
  why: "asked" | "ended" | "reset" | "hang-up" | "write-failed" | "failed";
  detail: string;
}

/**
 * One connection to one instrument, from open to close; it is never opened again. Lines come to the listeners set in the
 * same turn it was opened in. Nothing is ever queued for a later connection: `write` on a closed link throws.
 */
export interface Link {
  /** The VISA resource name it was opened by, in canonical spelling. */
  readonly address: string;
  /** Rises by one with each connection of this process; a command made for another number must not be sent. */
  readonly connection: number;
  readonly isOpen: boolean;
  readonly counters: { readonly bytesWritten: number; readonly bytesRead: number; readonly junk: number };
  /**
   * Hands `text` (Latin-1, terminator included) to the operating system in this same turn. `expectsReply` tells
   * message-based links (USBTMC) to ask for an answer afterwards. Throws BenchError "link-closed" when not open.
   */
  write(text: string, options?: { expectsReply?: boolean }): void;
  onLine(listener: (line: LinkLine) => void): void;
  onJunk(listener: (junk: LinkJunk) => void): void;
  /** Called once. A link that was closed before the listener came calls it at once. */
  onClose(listener: (closed: LinkClosed) => void): void;
  /**
   * Hands what comes to `take` as it is, in place of lines; `null` says that a message ended, on links that know. Called with null, lines
   * are read again. For blocks of bytes, which no line holds. The bytes are the link's own: whoever keeps them makes a copy.
   */
  divert(take: ((bytes: Uint8Array | null) => void) | null): void;
  /** Drops what is waiting to be read; on USBTMC also the device clear the kernel offers, if any. Never drops output. */
  discardInput(): void;
  close(): Promise<void>;
}
