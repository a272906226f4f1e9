import type { Clock } from "../../shared/clock.ts";
import type { Link } from "../link/link.ts";
import type { SessionWire } from "./exchange.ts";

export interface SessionOptions {
  /** The instrument's name in the bench file, for sentences. */
  name: string;
  link: Link;
  clock: Clock;
  /** Opens the same address anew, within the time given. */
  reopen: (deadlineMs: number) => Promise<Link>;
  /** True on links where a fresh connection leaves late answers behind (TCP): a fence then begins with one. */
  freshFence: boolean;
  wire?: Partial<SessionWire>;
}
