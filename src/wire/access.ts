import { createHmac, randomBytes, timingSafeEqual } from "node:crypto";
import type { Clock } from "../../shared/clock.ts";
import { type RequestHead, valuesOf } from "./request-rules.ts";

/** The asker: a page's session or a script, and whether it may ever hold the operator's lease. */
export interface PageSession {
  id: string;
  /** The name that people are told of it: "page 3", or "a script". */
  name: string;
  mayOperate: boolean;
  /** True for a script, which shows the daemon's own token. */
  byToken: boolean;
}

/** A session as it is listed; times are wall clock. */
export interface ListedSession {
  session: string;
  name: string;
  mayOperate: boolean;
  /** null: it was opened before this daemon was started. */
  openedAt: string | null;
  lastSeenAt: string;
}

const MOST_CODES = 16;
const MOST_SESSIONS = 256;

/** The subprotocol of the live socket, and the prefix of a second one that carries a page's bearer. */
export const LIVE_PROTOCOL = "firstamp";
const BEARER_PROTOCOL = "firstamp-bearer.";

/**
 * Decides who may ask. Each daemon has one token; a one-time code in the printed address is exchanged for a bearer, which is the session's
 * id signed with the token, so that a page finds its way back after the daemon was killed and started again. The page
 * keeps it in its own storage, which is kept apart by port, and shows it in a header or, since a browser's socket can set
 * none, in a subprotocol. Nothing is sent by a browser on its own, as a cookie is: a cookie goes to every port of the host.
 */
export class Access {
  readonly #token: string;
  readonly #clock: Clock;
  readonly #codes = new Map<string, { untilMs: number; mayOperate: boolean }>();
  readonly #sessions = new Map<string, ListedSession>();
  readonly #ended = new Set<string>();
  #count = 0;

  constructor(token: string, clock: Clock) {
    this.#token = token;
    this.#clock = clock;
  }

  /** A new one-time code, good for `lifetimeMs`; the oldest of more than 16 unused ones is forgotten. */
  newCode(options: { mayOperate: boolean; lifetimeMs: number }): string {
    const code = randomBytes(32).toString("base64url");
    this.#codes.set(code, { untilMs: this.#clock.nowMs() + options.lifetimeMs, mayOperate: options.mayOperate });
    keepLast(this.#codes, MOST_CODES);
    return code;
  }

  /** Uses a code up: the bearer of a new session, or null for a code that is unknown, used or too old. */
  exchange(code: string): string | null {
    let found: { code: string; untilMs: number; mayOperate: boolean } | null = null;
    // Every code is compared, each in constant time: the time taken tells nothing of how near a guess was.
    for (const [each, entry] of this.#codes) if (same(each, code)) found = { code: each, ...entry };
    if (found === null) return null;
    this.#codes.delete(found.code);
    if (this.#clock.nowMs() > found.untilMs) return null;
    const id = randomBytes(16).toString("base64url");
    this.#note(id, found.mayOperate, new Date().toISOString());
    return `${id}.${found.mayOperate ? "o" : "v"}.${this.#sign(id, found.mayOperate)}`;
  }

  /** The session of a request, by the bearer in its header or subprotocol; null for nobody, and for one that was ended. */
  sessionOf(head: Pick<RequestHead, "rawHeaders">): PageSession | null {
    const shown = bearerOf(head);
    if (shown === null) return null;
    if (/^[0-9a-f]{64}$/.test(shown)) {
      return same(shown, this.#token) ? { id: "script", name: "a script", mayOperate: true, byToken: true } : null;
    }
    const [id, role, signature, more] = shown.split(".");
    if (id === undefined || signature === undefined || more !== undefined || (role !== "o" && role !== "v"))
      return null;
    const mayOperate = role === "o";
    if (!same(signature, this.#sign(id, mayOperate)) || this.#ended.has(id)) return null;
    return { id, name: this.#note(id, mayOperate, null), mayOperate, byToken: false };
  }

  /** The pages' sessions that this daemon has seen, the last opened first. */
  sessions(): ListedSession[] {
    return [...this.#sessions.values()].reverse();
  }

  /** Ends a session: its bearer opens nothing any more. False where there is none of this id. */
  end(id: string): boolean {
    if (!this.#sessions.delete(id)) return false;
    this.#ended.add(id);
    return true;
  }

  #note(id: string, mayOperate: boolean, openedAt: string | null): string {
    const known = this.#sessions.get(id);
    const lastSeenAt = new Date().toISOString();
    if (known !== undefined) {
      known.lastSeenAt = lastSeenAt;
      return known.name;
    }
    this.#count += 1;
    const name = `page ${this.#count}`;
    this.#sessions.set(id, { session: id, name, mayOperate, openedAt, lastSeenAt });
    keepLast(this.#sessions, MOST_SESSIONS);
    return name;
  }

  #sign(id: string, mayOperate: boolean): string {
    return createHmac("sha256", this.#token).update(`session\n${id}\n${mayOperate}`).digest("base64url");
  }
}

function bearerOf(head: Pick<RequestHead, "rawHeaders">): string | null {
  const header = /^Bearer ([A-Za-z0-9_.-]{1,256})$/.exec(valuesOf(head, "authorization")[0] ?? "")?.[1];
  if (header !== undefined) return header;
  const offered = valuesOf(head, "sec-websocket-protocol").join(",").split(",");
  const carrying = offered.map((each) => each.trim()).find((each) => each.startsWith(BEARER_PROTOCOL));
  return carrying?.slice(BEARER_PROTOCOL.length) ?? null;
}

function same(a: string, b: string): boolean {
  const [left, right] = [Buffer.from(a), Buffer.from(b)];
  return left.length === right.length && timingSafeEqual(left, right);
}

function keepLast<Value>(map: Map<string, Value>, most: number): void {
  for (const key of map.keys()) {
    if (map.size <= most) return;
    map.delete(key);
  }
}
