/** One connection to an instrument, seen from the instrument's side. */
export interface Wire {
  write(bytes: Buffer): void;
  /** Ends it in good order. */
  end(): void;
  /** Ends it with a reset, where the transport has one. */
  reset(): void;
}

/** Serves the connections of a transport: called with each new wire, returns what takes its bytes. */
export interface WireUser {
  onBytes(bytes: Buffer): void;
  onGone(why: string): void;
}
export type ServeWire = (wire: Wire) => WireUser | "refuse";

/** A served transport: the address a bench file names, and the way to take it down. */
export interface ServedPort {
  address: string;
  close(): Promise<void>;
}
