import type { OverloadKind } from "../../shared/draw-verdict.ts";
import { sayAmps, sayOhms, sayVolts } from "../../shared/words/amounts.ts";
import { type FeedFigures, touchesOf } from "./feed-figures.ts";
import type { Finding } from "./finding.ts";
import type { Look } from "./look.ts";
import { sayFeed } from "./say.ts";
import { shareAbove } from "./share-above.ts";
import type { VerdictLimits } from "./verdict-limits.ts";

/** Dead or partial short is said where the other is less likely than two standard uncertainties leave it. */
const SURE = 0.977;
/** At the limit and this low it is a dead short, however uncertain the volts. */
const DEEP_OHMS = 0.3;

/**
 * The finding of the looks at low voltage for one feed: a dead short, a part that conducts where nothing should, or nothing
 * (null). No converter runs under 1 V, so what flows there is the board's own resistance (trade practice, no source).
 */
export function ruleShort(figures: FeedFigures): Finding | null {
  const { feed, trace, limits } = figures.view;
  const touches = touchesOf(figures);
  const conducting = touches.filter((look) => look.conducts && (look.settled || look.limited === true));
  const look = conducting.reduce<Look | null>(
    (least, each) => (least === null || each.ohms < least.ohms ? each : least),
    null,
  );
  if (look !== null && (look.ohms < limits.partialShortOhms || look.limited === true)) {
    return shortOf({ feed, leadOhms: trace.leadOhms, limits }, look, conducting);
  }
  const held = figures.looks.find(({ phase, limited, settled }) => phase === "hold-low" && limited === true && settled);
  if (held === undefined) return null;
  return {
    class: "overload",
    sub: "unknown",
    probability: 0.8,
    rivals: [{ class: "dead-short", probability: 0.05 }],
    because: [
      `${sayFeed(feed)} held the limit at ${sayVolts(held.setVolts ?? 3)}: ${sayVolts(held.volts)} at ${sayAmps(held.amps)}, although it drew nothing at 0.9 V.`,
      `Something conducts between 1 V and ${sayVolts(held.setVolts ?? 3)}, where the converters are still locked out: a clamp, a linear regulator into a short, or a diode path.`,
    ],
    feed,
    shortOhms: held.ohms,
    shortOhmsU: held.expandedOhms / 2,
  };
}

interface ShortedFeed {
  feed: string;
  leadOhms: number | null;
  limits: VerdictLimits;
}

function shortOf({ feed, leadOhms, limits }: ShortedFeed, look: Look, conducting: readonly Look[]): Finding {
  const lead =
    leadOhms === null ? "including the leads, whose resistance is not known" : `behind ${sayOhms(leadOhms)} of leads`;
  const kind = kindOf(look, conducting, limits);
  // A junction has no ohms: its volts stay where they are, whatever flows.
  const isJunction = kind.sub === "junction";
  const reading = `${sayFeed(feed)} read ${sayVolts(look.volts)} at ${sayAmps(look.amps)}${isJunction ? "" : `: ${sayOhms(look.ohms)} ${lead}`}.`;
  const because = [reading];
  // Leads nobody measured are anywhere up to `unknownLeadOhms`, evenly.
  const leads = leadOhms === null ? limits.unknownLeadOhms : 0;
  const u = Math.hypot(look.expandedOhms / 2, leads / Math.sqrt(12));
  const shared = isJunction ? { feed } : { feed, shortOhms: look.ohms, shortOhmsU: u };
  // A path that two limits show to be no resistor is no dead short, whatever its ohms.
  const dead = kind.bends ? 0.01 : 1 - shareAbove(look.ohms - leads / 2, limits.deadShortOhms, u);
  const share = { "dead-short": 0.98 * dead, overload: 0.98 * (1 - dead) };
  const candidate = (name: keyof typeof share) => ({ class: name, probability: Math.max(0.01, share[name]) });
  if (dead > SURE || (!kind.bends && look.ohms < DEEP_OHMS && look.limited !== false)) {
    because.push(
      `Below ${sayOhms(limits.deadShortOhms)} an input is a dead short: no healthy part of a board draws that.`,
    );
    return { ...shared, ...candidate("dead-short"), rivals: [candidate("overload")], because };
  }
  if (dead > 1 - SURE) {
    because.push(
      `That is within ${sayOhms(2 * u + leads / 2)} of ${sayOhms(limits.deadShortOhms)}, so a dead and a partial short cannot be told apart here; a four-wire ohms reading would tell.`,
    );
    const rivals = [candidate("dead-short"), candidate("overload")];
    return { ...shared, class: "cannot-tell", probability: 0, rivals, because };
  }
  because.push(...kind.because);
  return { ...shared, ...candidate("overload"), sub: kind.sub, rivals: [candidate("dead-short")], because };
}

/** Two limits tell a resistor (volts follow the current) from a junction (volts hardly move). */
function kindOf(
  look: Look,
  conducting: readonly Look[],
  limits: VerdictLimits,
): { sub: OverloadKind; because: string[]; bends: boolean } {
  const [low, high] = limits.junctionVolts;
  const held = conducting.filter(({ limited }) => limited !== false).sort((a, b) => a.amps - b.amps);
  const [first, last] = [held[0], held[held.length - 1]];
  const inJunction = look.limited !== false && look.volts >= low && look.volts <= high;
  if (first !== undefined && last !== undefined && last.amps > 1.4 * first.amps) {
    const follow = (last.volts / first.volts - 1) / (last.amps / first.amps - 1);
    const pair = `At ${sayAmps(first.amps)} it read ${sayVolts(first.volts)}, at ${sayAmps(last.amps)} it read ${sayVolts(last.volts)}`;
    if (follow > 0.6)
      return { sub: "ohmic", bends: false, because: [`${pair}: the voltage follows the current, as in a resistor.`] };
    if (follow < 0.35 && last.volts <= high + 0.1) {
      return {
        sub: "junction",
        bends: true,
        because: [`${pair}: the voltage hardly changes, as across a diode. Check the polarity of the leads first.`],
      };
    }
    return { sub: "unknown", bends: follow < 0.5, because: [`${pair}: neither a resistor nor a junction.`] };
  }
  if (inJunction) {
    return {
      sub: "unknown",
      bends: false,
      because: [
        `A steady ${sayVolts(look.volts)} at the limit also looks like a diode path. Check the polarity of the leads first. A second, higher limit below 1 V tells a resistor from a junction.`,
      ],
    };
  }
  return {
    sub: "ohmic",
    bends: false,
    because: [
      `A healthy input draws less than 1 mA there; ${sayOhms(limits.partialShortOhms)} or less is a partial short.`,
    ],
  };
}
