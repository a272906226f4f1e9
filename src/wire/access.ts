import { createHmac, randomBytes, timingSafeEqual } from "node:crypto";
import type { Clock } from "../../shared/clock.ts";
import { type RequestHead, valuesOf } from "./request-rules.ts";

/** Who is asking: a browser's session or a script, and whether it may ever hold the operator's lease. */
export interface PageSession {
  id: string;
  mayOperate: boolean;
  /** True for a script, which shows the token in a header that no foreign page can set. */
  byToken: boolean;
}

const NONCE_MS = 60_000;
const MOST_CODES = 16;
const MOST_NONCES = 256;

/**
 * Who may ask. One token a daemon; a one-time code in the printed address is exchanged for a cookie, which is the
 * session's id signed with the token, so that a page finds its way back after the daemon was killed and started again.
 * Cookies ignore ports, so another local server receives it: the WebSocket therefore also wants a nonce, which only a
 * page that can read this server's answers has.
 */
export class Access {
  readonly #token: string;
  readonly #clock: Clock;
  readonly #codes = new Map<string, { untilMs: number; mayOperate: boolean }>();
  readonly #nonces = new Map<string, { untilMs: number; session: string }>();

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

  /** Uses a code up: the value of a new session's cookie, or null for a code that is unknown, used or too old. */
  exchange(code: string): string | null {
    let found: { code: string; untilMs: number; mayOperate: boolean } | null = null;
    // Every code is compared, each in constant time: the time taken tells nothing of how near a guess was.
    for (const [each, entry] of this.#codes) if (same(each, code)) found = { code: each, ...entry };
    if (found === null) return null;
    this.#codes.delete(found.code);
    if (this.#clock.nowMs() > found.untilMs) return null;
    const id = randomBytes(16).toString("base64url");
    return `${id}.${found.mayOperate ? "o" : "v"}.${this.#sign(id, found.mayOperate)}`;
  }

  /** The session of a request, by its bearer token or its cookie; null for nobody. */
  sessionOf(head: Pick<RequestHead, "rawHeaders">, cookieName: string): PageSession | null {
    const bearer = /^Bearer ([0-9a-f]{64})$/.exec(valuesOf(head, "authorization")[0] ?? "")?.[1];
    if (bearer !== undefined) {
      return same(bearer, this.#token) ? { id: "script", mayOperate: true, byToken: true } : null;
    }
    for (const pair of valuesOf(head, "cookie").join(";").split(";")) {
      const [name, value] = pair.trim().split("=");
      const [id, role, signature] = (value ?? "").split(".");
      if (name !== cookieName || id === undefined || signature === undefined) continue;
      if (role !== "o" && role !== "v") continue;
      const mayOperate = role === "o";
      if (same(signature, this.#sign(id, mayOperate))) return { id, mayOperate, byToken: false };
    }
    return null;
  }

  /** A nonce for one page of a session: one use, 60 s. */
  newNonce(session: PageSession): string {
    const nonce = randomBytes(32).toString("base64url");
    this.#nonces.set(nonce, { untilMs: this.#clock.nowMs() + NONCE_MS, session: session.id });
    keepLast(this.#nonces, MOST_NONCES);
    return nonce;
  }

  /** True once for a nonce that was given to this session and is still good. A script needs none. */
  takeNonce(session: PageSession, nonce: string | null): boolean {
    if (session.byToken) return true;
    const entry = nonce === null ? undefined : this.#nonces.get(nonce);
    if (nonce === null || entry === undefined || entry.session !== session.id) return false;
    this.#nonces.delete(nonce);
    return this.#clock.nowMs() <= entry.untilMs;
  }

  #sign(id: string, mayOperate: boolean): string {
    return createHmac("sha256", this.#token).update(`session\n${id}\n${mayOperate}`).digest("base64url");
  }
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
