import type { Answer } from "./exchange.ts";

/** The rights of one turn while it has the wire to itself; every call is refused once the connection it began on is gone. */
export interface Turn {
  send(text: string): Promise<void>;
  query(text: string, options?: { timeoutMs?: number }): Promise<Answer>;
  /** Sends once `check` has passed, in the same call that writes; for a command that must not go out a moment later. */
  sendIf(text: string, check: () => void): Promise<void>;
}
