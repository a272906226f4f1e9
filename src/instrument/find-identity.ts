import type { Clock } from "../../shared/clock.ts";
import { type Identity, parseIdentity } from "../scpi/identity.ts";
import { type Exchange, IDENTITY_QUERY, type SessionWire } from "./exchange.ts";

export interface FoundIdentity {
  identity: Identity;
  /** The time its answer took, ms. */
  tookMs: number;
}

/**
 * Asks who is there until an answer that can be an identity comes (twice the same in a row, with `twice`), within
 * `withinMs`; undefined when none did. The question coming back first is an echo, which `wire` then says.
 */
export async function findIdentity(
  exchange: Exchange,
  wire: SessionWire,
  options: { twice: boolean; withinMs: number; clock: Clock },
): Promise<FoundIdentity | undefined> {
  const { clock } = options;
  const untilMs = clock.nowMs() + options.withinMs;
  let before: Identity | undefined;
  while (clock.nowMs() < untilMs && exchange.link.isOpen) {
    const tryMs = Math.min(wire.replyMs, untilMs - clock.nowMs());
    const answer = await exchange.askWho(tryMs, (line) => {
      if (line !== IDENTITY_QUERY) return parseIdentity(line) !== undefined;
      wire.echo ??= true;
      return false;
    });
    const identity = answer === undefined ? undefined : parseIdentity(answer.text);
    if (answer === undefined || identity === undefined) continue;
    if (!options.twice || identity.raw === before?.raw) {
      wire.echo ??= false;
      return { identity, tookMs: answer.atMs - answer.sentAtMs };
    }
    before = identity;
  }
  return undefined;
}

/** The identity of another instrument that answers in place of the known one; null where what was heard is none, or may be a shifted answer. */
export function otherThan(known: Identity, heard: string): string | null {
  const other = parseIdentity(heard);
  if (other === undefined || other.serialNumber === null || other.raw === known.raw) return null;
  return other.raw.split(",").length === known.raw.split(",").length ? other.raw : null;
}
